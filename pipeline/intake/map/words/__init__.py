"""What is said once of the words of a sheet: times of day left out, words for nothing, spellings put into one."""
