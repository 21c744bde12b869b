-- A store of version 1 as that version made it, with two loads, a replaced row, a rejected one and a model.
create table meta (name varchar primary key, value varchar not null);
create table loads (batch integer primary key, loaded_at timestamp not null, rows_changed bigint not null);
create table load_tables (
    batch integer not null, table_name varchar not null,
    "read" bigint not null, loaded bigint not null, unchanged bigint not null, rejected bigint not null
);
create table load_files (
    batch integer not null, table_name varchar not null, file varchar not null, sha256 varchar not null
);
create table load_rejects (
    batch integer not null, "table" varchar not null, file varchar not null, "row" bigint not null,
    "column" varchar not null, reason varchar not null
);
create table models (
    model integer primary key, rows_version integer not null, hemisphere varchar not null,
    fitted_at timestamp not null, document varchar not null
);
create table jobs_rows ("job_id" varchar not null, "site_id" varchar, "branch" varchar, "crew_id" varchar, "status" varchar not null, "quoted_on" date, "planned_on" date, "done_on" date, "access" varchar, "price_quoted" decimal(14, 2), "price_charged" decimal(14, 2), "travel_minutes" double, "warranty_months" bigint, loaded_in integer not null, replaced_in integer);
create view jobs as select "job_id", "site_id", "branch", "crew_id", "status", "quoted_on", "planned_on", "done_on", "access", "price_quoted", "price_charged", "travel_minutes", "warranty_months" from jobs_rows where replaced_in is null;
create table cracks_rows ("crack_id" varchar not null, "job_id" varchar not null, "length_m" double, "width_mm" double, "wall_thickness_mm" double, "direction" varchar, "water" varchar, "movement" varchar, "offset_mm" double, "resin" varchar, "wall_temp_c" double, "port_spacing_mm" double, "port_count" bigint, "resin_litres" double, "labour_minutes" double, "cleaned" boolean, "dried" boolean, "water_tested" boolean, loaded_in integer not null, replaced_in integer);
create view cracks as select "crack_id", "job_id", "length_m", "width_mm", "wall_thickness_mm", "direction", "water", "movement", "offset_mm", "resin", "wall_temp_c", "port_spacing_mm", "port_count", "resin_litres", "labour_minutes", "cleaned", "dried", "water_tested" from cracks_rows where replaced_in is null;
create table callbacks_rows ("callback_id" varchar not null, "job_id" varchar not null, "crack_id" varchar, "reported_on" date not null, "finding" varchar, "labour_minutes" double, "material_cost" decimal(14, 2), loaded_in integer not null, replaced_in integer);
create view callbacks as select "callback_id", "job_id", "crack_id", "reported_on", "finding", "labour_minutes", "material_cost" from callbacks_rows where replaced_in is null;
create table rates_rows ("effective_on" date not null, "item" varchar not null, "amount" decimal(16, 4) not null, "currency" varchar not null, loaded_in integer not null, replaced_in integer);
create view rates as select "effective_on", "item", "amount", "currency" from rates_rows where replaced_in is null;
create table reviews_rows ("review_id" varchar not null, "crack_id" varchar not null, "asked_on" date, "decided_on" date, "decision" varchar, "reference" varchar, loaded_in integer not null, replaced_in integer);
create view reviews as select "review_id", "crack_id", "asked_on", "decided_on", "decision", "reference" from reviews_rows where replaced_in is null;
insert into meta values ('schema_version', '1'), ('key_fingerprint', '00112233aabbccdd');
insert into loads values (1, timestamp '2026-01-05 08:00:00', 4), (2, timestamp '2026-02-05 08:00:00', 1);
insert into load_tables values
    (1, 'jobs', 3, 2, 0, 1), (1, 'cracks', 1, 1, 0, 0), (1, 'rates', 1, 1, 0, 0), (2, 'jobs', 2, 1, 1, 0);
insert into load_files values
    (1, 'jobs', 'jobs.csv', 'a1'), (1, 'cracks', 'cracks.csv', 'b2'), (1, 'rates', 'rates.csv', 'c3'),
    (2, 'jobs', 'jobs-feb.csv', 'd4');
insert into load_rejects values (1, 'jobs', 'jobs.csv', 4, 'status', 'huh is not one of the words');
insert into jobs_rows (job_id, crew_id, status, quoted_on, done_on, price_charged, loaded_in, replaced_in) values
    ('J-1', 'C01', 'done', '2024-01-02', '2024-01-15', 810.50, 1, 2),
    ('J-1', 'C09', 'done', '2024-01-02', '2024-01-15', 810.50, 2, null),
    ('J-2', null, 'quoted', '2025-12-30', null, null, 1, null);
insert into cracks_rows (crack_id, job_id, length_m, width_mm, wall_thickness_mm, cleaned, loaded_in) values
    ('K-1', 'J-1', 2.1, 0.5, 200, true, 1);
insert into rates_rows (effective_on, item, amount, currency, loaded_in) values
    ('2026-01-01', 'labour_hour', 42.1250, 'USD', 1);
insert into models values (1, 2, 'north', timestamp '2026-02-05 08:01:00', '{"kind": "made up"}');
