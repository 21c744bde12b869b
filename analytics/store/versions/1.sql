-- What the store keeps about itself and its loads.
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
