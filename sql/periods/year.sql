-- What a period is where a report is of a year; first_month() is the month in which the service's year begins.
CREATE OR REPLACE TEMP MACRO period_of(day) AS year_of(day, first_month());
CREATE OR REPLACE TEMP MACRO first_day_of(period) AS make_date(CAST(period[1:4] AS INTEGER), first_month(), 1);
CREATE OR REPLACE TEMP MACRO last_day_of(period) AS last_day(first_day_of(period) + INTERVAL 11 MONTH);
