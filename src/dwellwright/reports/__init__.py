"""Facts to documents and plots."""
