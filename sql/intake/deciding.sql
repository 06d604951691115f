-- What a sheet's column that decides whether a row is made says: one row a line and value, none where it says nothing.
SELECT
    line,
    last_line,
    $header AS header,
    part,
    is_left_out
FROM records
JOIN parts ON parts.written = fields[$place]
