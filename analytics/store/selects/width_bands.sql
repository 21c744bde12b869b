-- What: the bands of crack width. Grain: one row a band, from (included) to (excluded), in mm.
-- Why: edges where the trade's practice changes: hairline, usual, wide, engineer first.
select * from (values
    (0.0, 0.3, 'under 0.3 mm'), (0.3, 1.0, '0.3 to 1 mm'), (1.0, 3.0, '1 to 3 mm'), (3.0, 5.0, '3 to 5 mm'),
    (5.0, 1000.0, '5 mm and over')
) as bands (width_from, width_to, width_band)
