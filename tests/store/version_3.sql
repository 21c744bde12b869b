-- A store of version 3 as that version made it: that of version_1.sql brought up, and a load since.
CREATE TABLE audit(number INTEGER PRIMARY KEY, acted_at TIMESTAMP NOT NULL, what VARCHAR NOT NULL, "load" INTEGER, by_whom VARCHAR, details VARCHAR NOT NULL, previous VARCHAR NOT NULL, hash VARCHAR NOT NULL);
CREATE TABLE callbacks_rows(callback_id VARCHAR NOT NULL, job_id VARCHAR NOT NULL, crack_id VARCHAR, reported_on DATE NOT NULL, finding VARCHAR, labour_minutes DOUBLE, material_cost DECIMAL(14,2), loaded_in INTEGER NOT NULL, replaced_in INTEGER);
CREATE TABLE cracks_rows(crack_id VARCHAR NOT NULL, job_id VARCHAR NOT NULL, length_m DOUBLE, width_mm DOUBLE, wall_thickness_mm DOUBLE, direction VARCHAR, water VARCHAR, movement VARCHAR, offset_mm DOUBLE, resin VARCHAR, wall_temp_c DOUBLE, port_spacing_mm DOUBLE, port_count BIGINT, resin_litres DOUBLE, labour_minutes DOUBLE, cleaned BOOLEAN, dried BOOLEAN, water_tested BOOLEAN, loaded_in INTEGER NOT NULL, replaced_in INTEGER);
CREATE TABLE jobs_rows(job_id VARCHAR NOT NULL, site_id VARCHAR, branch VARCHAR, crew_id VARCHAR, status VARCHAR NOT NULL, quoted_on DATE, planned_on DATE, done_on DATE, "access" VARCHAR, price_quoted DECIMAL(14,2), price_charged DECIMAL(14,2), travel_minutes DOUBLE, warranty_months BIGINT, loaded_in INTEGER NOT NULL, replaced_in INTEGER);
CREATE TABLE load_files(batch INTEGER NOT NULL, table_name VARCHAR NOT NULL, file VARCHAR NOT NULL, sha256 VARCHAR NOT NULL);
CREATE TABLE load_mended(batch INTEGER NOT NULL, "table" VARCHAR NOT NULL, file VARCHAR NOT NULL, "row" BIGINT NOT NULL);
CREATE TABLE load_rejects(batch INTEGER NOT NULL, "table" VARCHAR NOT NULL, file VARCHAR NOT NULL, "row" BIGINT NOT NULL, "column" VARCHAR NOT NULL, reason VARCHAR NOT NULL, cell VARCHAR, "nearest" VARCHAR);
CREATE TABLE load_sums(batch INTEGER NOT NULL, table_name VARCHAR NOT NULL, brought_sum HUGEINT NOT NULL, replaced BIGINT NOT NULL, replaced_sum HUGEINT NOT NULL);
CREATE TABLE load_tables(batch INTEGER NOT NULL, table_name VARCHAR NOT NULL, "read" BIGINT NOT NULL, loaded BIGINT NOT NULL, unchanged BIGINT NOT NULL, rejected BIGINT NOT NULL);
CREATE TABLE load_waiting(batch INTEGER NOT NULL, "table" VARCHAR NOT NULL, file VARCHAR NOT NULL, "row" BIGINT NOT NULL, sound VARCHAR NOT NULL);
CREATE TABLE load_warnings(batch INTEGER NOT NULL, "table" VARCHAR NOT NULL, file VARCHAR NOT NULL, "row" BIGINT NOT NULL, "column" VARCHAR NOT NULL, reason VARCHAR NOT NULL);
CREATE TABLE loads(batch INTEGER PRIMARY KEY, loaded_at TIMESTAMP NOT NULL, rows_changed BIGINT NOT NULL);
CREATE TABLE meta("name" VARCHAR PRIMARY KEY, "value" VARCHAR NOT NULL);
CREATE TABLE models(model INTEGER PRIMARY KEY, rows_version INTEGER NOT NULL, hemisphere VARCHAR NOT NULL, fitted_at TIMESTAMP NOT NULL, "document" VARCHAR NOT NULL);
CREATE TABLE rates_rows(effective_on DATE NOT NULL, item VARCHAR NOT NULL, amount DECIMAL(16,4) NOT NULL, currency VARCHAR NOT NULL, loaded_in INTEGER NOT NULL, replaced_in INTEGER);
CREATE TABLE reviews_rows(review_id VARCHAR NOT NULL, crack_id VARCHAR NOT NULL, asked_on DATE, decided_on DATE, decision VARCHAR, reference VARCHAR, loaded_in INTEGER NOT NULL, replaced_in INTEGER);
CREATE TABLE scenarios("name" VARCHAR PRIMARY KEY, saved_at TIMESTAMP NOT NULL, "document" VARCHAR NOT NULL);
CREATE VIEW callbacks AS SELECT callback_id, job_id, crack_id, reported_on, finding, labour_minutes, material_cost FROM callbacks_rows WHERE (replaced_in IS NULL);
CREATE VIEW cracks AS SELECT crack_id, job_id, length_m, width_mm, wall_thickness_mm, direction, water, movement, offset_mm, resin, wall_temp_c, port_spacing_mm, port_count, resin_litres, labour_minutes, cleaned, dried, water_tested FROM cracks_rows WHERE (replaced_in IS NULL);
CREATE VIEW jobs AS SELECT job_id, site_id, branch, crew_id, status, quoted_on, planned_on, done_on, "access", price_quoted, price_charged, travel_minutes, warranty_months FROM jobs_rows WHERE (replaced_in IS NULL);
CREATE VIEW rates AS SELECT effective_on, item, amount, currency FROM rates_rows WHERE (replaced_in IS NULL);
CREATE VIEW reviews AS SELECT review_id, crack_id, asked_on, decided_on, decision, reference FROM reviews_rows WHERE (replaced_in IS NULL);
insert into audit values
    (1, timestamp '2026-11-28 10:24:04.434585', 'upgrade', 2, null, '{"from":1,"loads":{"1":{"files":[["cracks","cracks.csv","b2"],["jobs","jobs.csv","a1"],["rates","rates.csv","c3"]],"lists":{"load_mended":[0,"0"],"load_rejects":[1,"15349710485842550781"],"load_waiting":[0,"0"],"load_warnings":[0,"0"]},"tables":{"cracks":{"loaded":1,"read":1,"rejected":0,"replaced":0,"replaced_sum":"0","sum":"13934354965755579876","unchanged":0},"jobs":{"loaded":2,"read":3,"rejected":1,"replaced":0,"replaced_sum":"0","sum":"8623103325998766947","unchanged":0},"rates":{"loaded":1,"read":1,"rejected":0,"replaced":0,"replaced_sum":"0","sum":"1666179636384424066","unchanged":0}}},"2":{"files":[["jobs","jobs-feb.csv","d4"]],"lists":{"load_mended":[0,"0"],"load_rejects":[0,"0"],"load_waiting":[0,"0"],"load_warnings":[0,"0"]},"tables":{"jobs":{"loaded":1,"read":2,"rejected":0,"replaced":1,"replaced_sum":"6373966673388513582","sum":"3015834997192406714","unchanged":1}}}},"models":["ddcc4e74f1e16bd6803010eba17b0cd8a1497131ed267d9c5613826fc25c925b"],"to":3}', '0000000000000000000000000000000000000000000000000000000000000000', '47448792bc2858d03125974dc3d2fc8d24819598fd26bd51413650bdbd31bd3c'),
    (2, timestamp '2026-11-28 10:24:04.925756', 'load', 3, null, '{"files":[["cracks","cracks.csv","4a78d6a4f3776cfa69de61d6b9dfa579b771cfca5fd581aa86f1f8a60e1548fd"],["jobs","jobs.csv","5cafad4968b667bd7fb0b336448c3c0d2ef13fe795358a0486770704d3f39b94"]],"key_fingerprint":"6e52f83ee395139e","lists":{"load_mended":[0,"0"],"load_rejects":[0,"0"],"load_waiting":[0,"0"],"load_warnings":[0,"0"]},"tables":{"cracks":{"loaded":1,"read":1,"rejected":0,"replaced":0,"replaced_sum":"0","sum":"16393040242228076443","unchanged":0},"jobs":{"loaded":2,"read":2,"rejected":0,"replaced":1,"replaced_sum":"2249136652610253365","sum":"20656921143226076795","unchanged":0}}}', '47448792bc2858d03125974dc3d2fc8d24819598fd26bd51413650bdbd31bd3c', '502fbac62e301ee719b41373a09a442620de28c476813c946b00647d6ac0c138');
insert into cracks_rows values
    ('K-1', 'J-1', 2.1, 0.5, 200.0, null, null, null, null, null, null, null, null, null, null, true, null, null, 1, null),
    ('K-2', 'J-2', 1.25, 0.79375, 203.2, null, 'damp', null, null, null, null, null, null, null, null, null, null, null, 3, null);
insert into jobs_rows values
    ('J-1', null, null, 'C01', 'done', date '2024-01-02', null, date '2024-01-15', null, null, 810.50, null, null, 1, 2),
    ('J-1', null, null, 'C09', 'done', date '2024-01-02', null, date '2024-01-15', null, null, 810.50, null, null, 2, null),
    ('J-2', null, null, null, 'quoted', date '2025-12-30', null, null, null, null, null, null, null, 1, 3),
    ('J-2', null, null, 'C02', 'done', date '2025-12-30', null, date '2026-01-20', null, null, null, 12.5, null, 3, null),
    ('J-3', null, null, null, 'lost', null, null, null, null, null, null, null, null, 3, null);
insert into load_files values
    (1, 'jobs', 'jobs.csv', 'a1'),
    (1, 'cracks', 'cracks.csv', 'b2'),
    (1, 'rates', 'rates.csv', 'c3'),
    (2, 'jobs', 'jobs-feb.csv', 'd4'),
    (3, 'cracks', 'cracks.csv', '4a78d6a4f3776cfa69de61d6b9dfa579b771cfca5fd581aa86f1f8a60e1548fd'),
    (3, 'jobs', 'jobs.csv', '5cafad4968b667bd7fb0b336448c3c0d2ef13fe795358a0486770704d3f39b94');
insert into load_rejects values
    (1, 'jobs', 'jobs.csv', 4, 'status', 'huh is not one of the words', null, null);
insert into load_sums values
    (1, 'cracks', 13934354965755579876, 0, 0),
    (1, 'jobs', 8623103325998766947, 0, 0),
    (1, 'rates', 1666179636384424066, 0, 0),
    (2, 'jobs', 3015834997192406714, 1, 6373966673388513582),
    (3, 'jobs', 20656921143226076795, 1, 2249136652610253365),
    (3, 'cracks', 16393040242228076443, 0, 0);
insert into load_tables values
    (1, 'jobs', 3, 2, 0, 1),
    (1, 'cracks', 1, 1, 0, 0),
    (1, 'rates', 1, 1, 0, 0),
    (2, 'jobs', 2, 1, 1, 0),
    (3, 'jobs', 2, 2, 0, 0),
    (3, 'cracks', 1, 1, 0, 0);
insert into loads values
    (1, timestamp '2026-01-05 08:00:00', 4),
    (2, timestamp '2026-02-05 08:00:00', 1),
    (3, timestamp '2026-11-28 10:24:04.925756', 3);
insert into meta values
    ('schema_version', '3'),
    ('key_fingerprint', '6e52f83ee395139e');
insert into models values
    (1, 2, 'north', timestamp '2026-02-05 08:01:00', '{"kind": "made up"}');
insert into rates_rows values
    (date '2026-01-01', 'labour_hour', 42.1250, 'USD', 1, null);
