"""The invented demonstration job: its files in `data`, and the script that makes them. No such car exists."""
