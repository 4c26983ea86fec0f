"""The command line: parse, call the service, print."""
