"""The command line: parse, call the service, print. Heavy imports wait inside the commands, for `--help`."""


def main() -> None:
    """Run the program and leave with its exit code."""
    import sys

    from dwellwright.cli.run import exit_code

    sys.exit(exit_code(sys.argv[1:]))
