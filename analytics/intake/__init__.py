"""The door: files as a business has them, split into clean rows and rejected ones with reasons."""

from analytics.intake.door import check, read_files
from analytics.intake.known import KNOWN_COLUMNS, Known
from analytics.intake.privacy import Keyring, private_path

__all__ = ["KNOWN_COLUMNS", "Keyring", "Known", "check", "private_path", "read_files"]
