-- title: Division without a visible tie
-- question: How many divisions were of a tie that cannot be seen, or of none?
-- section: division
-- kind: proportion
-- eligible: Every division by this service whose kind of tie is recorded, its own or that of the latest assessment by then
-- met: The kind of tie is none or submucosal
-- unknown: Never: where no kind of tie is recorded the division is not eligible, and those are counted apart
-- better: none
-- grain: division
-- counted_on: the day of the division
-- horizon: 0
-- changed: 2026-11-28 An assessment made after a division no longer says what was divided; a division elsewhere is not counted.
-- source: common practice (a submucosal tie cannot be seen and so is not divided), no source; opinion differs
SELECT
    case_ref,
    division_id,
    division_date AS index_date,
    tie_type IN ('none', 'submucosal') AS met
FROM own_divisions
WHERE tie_type IS NOT NULL
