"""One file for each change of the tables; a file that was released is never edited."""
