"""The workbench pages: parse, call the service, render."""
