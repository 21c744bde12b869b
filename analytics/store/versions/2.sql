-- Sums of what each load brought and replaced, and the audit trail: each entry's hash covers the one before it.
create table load_sums (
    batch integer not null, table_name varchar not null,
    brought_sum hugeint not null, replaced bigint not null, replaced_sum hugeint not null
);
create table audit (
    number integer primary key, acted_at timestamp not null, what varchar not null, load integer, by_whom varchar,
    details varchar not null, previous varchar not null, hash varchar not null
);
-- What-ifs of the price book, saved by name.
create table scenarios (name varchar primary key, saved_at timestamp not null, document varchar not null);
