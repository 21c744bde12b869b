-- Rejected rows as a work list: the cell that may be kept, what would be accepted, and the row's sound cells.
alter table load_rejects add column cell varchar;
alter table load_rejects add column nearest varchar;
create table load_waiting (
    batch integer not null, "table" varchar not null, file varchar not null, "row" bigint not null,
    sound varchar not null
);
-- Rows read again one by one from a work list, and rows that were loaded although something about them is odd.
create table load_mended (
    batch integer not null, "table" varchar not null, file varchar not null, "row" bigint not null
);
create table load_warnings (
    batch integer not null, "table" varchar not null, file varchar not null, "row" bigint not null,
    "column" varchar not null, reason varchar not null
);
