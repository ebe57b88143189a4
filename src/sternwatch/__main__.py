"""``python -m sternwatch``."""

import sys

from sternwatch.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
