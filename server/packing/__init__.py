"""Packs the page when the wheel is built: many modules into a few files. Nothing of it is in the wheel."""
