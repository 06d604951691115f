-- The few words the other files use. One macro, one idea.

-- Reading text: NULL where the text cannot be read, never a guess. DuckDB's own casts are too kind: they turn '7.6'
-- into 8 and '01/02/24' into the year 1, so the shape is checked first. The text arrives without surrounding space.
CREATE OR REPLACE TEMP MACRO read_text(written) AS written;
CREATE OR REPLACE TEMP MACRO read_integer(written) AS
    CASE WHEN regexp_full_match(written, '-?[0-9]{1,9}') THEN TRY_CAST(written AS INTEGER) END;
CREATE OR REPLACE TEMP MACRO read_date(written) AS
    CASE WHEN regexp_full_match(written, '[0-9]{4}-[0-9]{2}-[0-9]{2}') THEN TRY_CAST(written AS DATE) END;
CREATE OR REPLACE TEMP MACRO read_yes_no(written) AS
    CASE written WHEN 'yes' THEN TRUE WHEN 'no' THEN FALSE END;

-- Recorded = not empty, not not_known, not not_recorded. `none` and `not_stated` are answers.
CREATE OR REPLACE TEMP MACRO recorded(answer) AS
    CASE WHEN answer NOT IN ('not_known', 'not_recorded') THEN answer END;
CREATE OR REPLACE TEMP MACRO level_of(answer) AS coalesce(CAST(answer AS VARCHAR), 'not_recorded');
CREATE OR REPLACE TEMP MACRO yes_no_of(answer) AS level_of(CASE WHEN answer THEN 'yes' WHEN NOT answer THEN 'no' END);

-- 2026Q3: a calendar quarter. 2026-27: a year; 2026 where years begin in January. Both sort as they count.
CREATE OR REPLACE TEMP MACRO quarter_of(day) AS printf('%04d', year(day)) || 'Q' || quarter(day);
CREATE OR REPLACE TEMP MACRO month_of(day) AS strftime(day, '%Y-%m');
CREATE OR REPLACE TEMP MACRO year_of(day, first_month) AS
    CASE
        WHEN first_month = 1 THEN printf('%04d', year(day))
        WHEN month(day) >= first_month THEN printf('%04d', year(day)) || '-' || printf('%02d', (year(day) + 1) % 100)
        ELSE printf('%04d', year(day) - 1) || '-' || printf('%02d', year(day) % 100)
    END;

-- Any breast milk, not recorded stays so. Feeding, most breast milk first; and yes before no before nothing recorded.
CREATE OR REPLACE TEMP MACRO breastfed(feeding) AS feeding IN ('exclusive', 'partial');
CREATE OR REPLACE TEMP MACRO most_milk_first(feeding) AS list_position(['exclusive', 'partial', 'none'], feeding);
CREATE OR REPLACE TEMP MACRO yes_first(answer) AS CASE WHEN answer THEN 1 WHEN NOT answer THEN 2 ELSE 3 END;

-- Of a wait what came first: 1 its event, 2 another end, 0 neither in the days it was watched. NULL is never.
CREATE OR REPLACE TEMP MACRO what_came_first(watched_days, event_days, ended_days) AS CASE
    WHEN event_days <= least(watched_days, ended_days) THEN 1
    WHEN ended_days <= watched_days THEN 2
    ELSE 0
END;

-- Whether a wait ended in its event by a day. One that was watched for less, and had not ended, answers nothing.
CREATE OR REPLACE TEMP MACRO met_by(day, event, days) AS
    CASE WHEN event = 1 AND days <= day THEN TRUE WHEN event > 0 OR days >= day THEN FALSE END;

-- Kinds of tongue-tie in the order in which, on one day, the last counts.
CREATE OR REPLACE TEMP MACRO place_of_tie_type(tie_type) AS
    list_position(['none', 'anterior', 'posterior', 'submucosal'], tie_type);

-- A word without what case and blanks alone make different.
CREATE OR REPLACE TEMP MACRO one_spelling(word) AS lower(regexp_replace(word, '[\s\p{Z}]', '', 'g'));

-- How a reference looks, and what it reads as instead of a pseudonym. Eight letters or more without a vowel are no word.
CREATE OR REPLACE TEMP MACRO shape_of(reference) AS
    regexp_replace(regexp_replace(reference, '\p{L}', 'A', 'g'), '\p{N}', '9', 'g');
CREATE OR REPLACE TEMP MACRO reads_as(reference) AS CASE
    WHEN regexp_full_match(
        lower(reference),
        '[0-9]{1,4}[-/. ][0-9]{1,2}[-/. ][0-9]{1,4}'
        '|[0-9]{1,2}\W?(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\W?[0-9]{2,4}'
    ) THEN 'a date'
    WHEN NOT regexp_matches(reference, '\p{L}') THEN 'a plain number'
    WHEN regexp_matches(reference, '\p{N}') THEN ''
    WHEN regexp_full_match(lower(reference), '[b-df-hj-np-tv-xz]{8,}') THEN ''
    ELSE 'a word or initials'
END;
