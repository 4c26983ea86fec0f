"""Jobs, sheets, evidence, readings, steps, verdicts and the audit trail, in SQLite or PostgreSQL."""
