"""`python -m desk`: the command line."""

import signal
import sys


def main() -> int:
    """Run the command line and return its exit code."""
    # Ctrl-C while the program is still being loaded ends it without a traceback.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    from desk.cli.main import main as run

    return run()


if __name__ == "__main__":
    sys.exit(main())
