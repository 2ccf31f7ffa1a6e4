"""Tests of the local page."""
