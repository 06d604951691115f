-- One row a shape of the references that an export gives, set aside or not, and what they read as without the prefix
-- that the mapping puts before them: how many there are, and where the first of them stands. The line of totals names
-- nobody.
WITH given AS (
    SELECT
        s.case_ref,
        t.sheet,
        s.line
    FROM staged_rows AS s
    JOIN sheet_tables AS t USING (sheet_table)
    UNION ALL
    SELECT
        case_ref,
        sheet,
        line
    FROM set_aside
),

firsts AS (
    SELECT
        case_ref,
        min({'sheet': sheet, 'line': line}) AS place
    FROM given
    WHERE case_ref <> ''
        AND lower(regexp_replace(case_ref, $put_before, '')) NOT IN ('total', 'totals', 'sum')
    GROUP BY case_ref
),

shaped AS (
    SELECT
        shape_of(case_ref) AS shape,
        reads_as(regexp_replace(case_ref, $put_before, '')) AS reads_as,
        count(*) AS times,
        min(place) AS place
    FROM firsts
    GROUP BY ALL
)

SELECT
    s.shape,
    s.reads_as,
    s.times,
    concat(h.file, ', line ', s.place.line) AS first_place
FROM shaped AS s
JOIN sheets AS h ON h.sheet = s.place.sheet
ORDER BY s.place, s.shape, s.reads_as
