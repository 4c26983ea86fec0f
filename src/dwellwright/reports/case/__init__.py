"""A case written up for others: one page, anonymous, that needs nothing from anywhere else."""
