"""Everything that has to hold before a change goes in: format, lint, types, import contracts, tests.

`python -m tests` runs all of it; what follows is given to pytest: `python -m tests -k timecode` runs a part.
"""

import os
import subprocess
import sys
from pathlib import Path

CHECKS = (
    ("format", ("-m", "ruff", "format", "--check", "-q", ".")),
    ("lint", ("-m", "ruff", "check", "-q", ".")),
    ("types", ("-m", "mypy")),
    ("import contracts", ("-c", "from importlinter.cli import lint_imports_command as run; run()")),
)


def main(arguments: list[str]) -> int:
    """Run all checks, then the tests; returns the exit code of the first that fails."""
    os.chdir(Path(__file__).parent.parent)
    for name, command in CHECKS:
        print(f"== {name}", flush=True)
        code = subprocess.run((sys.executable, *command), check=False).returncode
        if code:
            return code
    print("== tests", flush=True)
    # Each worker begins with a part of its own, so that what a module prepares is prepared once; one that is
    # done helps the others.
    workers = ("-n", str(os.cpu_count() or 1), "--dist", "worksteal")
    return subprocess.run((sys.executable, "-m", "pytest", *workers, *arguments), check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
