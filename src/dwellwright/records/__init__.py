"""Jobs, readings and sheets in a database."""
