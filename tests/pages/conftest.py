"""Fixtures of the app for these tests."""

from tests.with_app import (
    app,
    browse,
    clock,
    framer,
    keeper,
    make_app,
    owner,
    portal,
    program,
    settings,
    stranger,
)

__all__ = [
    "app",
    "browse",
    "clock",
    "framer",
    "keeper",
    "make_app",
    "owner",
    "portal",
    "program",
    "settings",
    "stranger",
]
