"""``python -m modrules``: the command line."""

import sys

from modrules.cli import main

if __name__ == "__main__":
    sys.exit(main())
