-- How the rows that a sum is of were written down: 1 up to version 3, 2 since (summing.py).
alter table load_sums add column form integer default 1;
