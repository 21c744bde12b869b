"""``python -m analytics.cli`` is the command ``leakback``."""

from analytics.cli import main

if __name__ == "__main__":
    main()
