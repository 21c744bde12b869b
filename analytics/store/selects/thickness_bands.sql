-- What: the bands of wall thickness. Grain: one row a band, from (included) to (excluded), in mm.
-- Why: nominal 8, 10 and 12 inch walls (203, 254, 305 mm) fall in bands of their own.
select * from (values
    (0.0, 190.0, 'under 190 mm'), (190.0, 230.0, '190 to 230 mm'), (230.0, 280.0, '230 to 280 mm'),
    (280.0, 5000.0, '280 mm and over')
) as bands (thickness_from, thickness_to, thickness_band)
