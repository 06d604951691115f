-- The lines of which every row was there before, or set aside.
SELECT
    sheet,
    line,
    last_line
FROM line_fates
WHERE fate = 'repeat'
