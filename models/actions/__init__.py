"""Deeds: one file per noun, what people do, all of it or nothing."""
