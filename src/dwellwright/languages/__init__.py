"""Other shops' languages: sentences are written in English everywhere and translated where they leave the program."""
