"""Fixtures that any test may ask for; importing them starts nothing."""

from tests.with_database import engine, fresh_url, migrated_file, postgresql_url, session

__all__ = ["engine", "fresh_url", "migrated_file", "postgresql_url", "session"]
