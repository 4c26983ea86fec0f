"""One function per use case: the command line and the pages parse, call these, and render what comes back."""
