-- The day of the earliest first contact or request for help.
SELECT least((SELECT min(first_contact_date) FROM cases), (SELECT min(request_date) FROM requests)) AS first_day
