-- What a period is where a report is of a quarter.
CREATE OR REPLACE TEMP MACRO period_of(day) AS quarter_of(day);
CREATE OR REPLACE TEMP MACRO first_day_of(period) AS
    make_date(CAST(period[1:4] AS INTEGER), 3 * CAST(period[6] AS INTEGER) - 2, 1);
CREATE OR REPLACE TEMP MACRO last_day_of(period) AS last_day(first_day_of(period) + INTERVAL 2 MONTH);
