"""Tests of the core records."""
