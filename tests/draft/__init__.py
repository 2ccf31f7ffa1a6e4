"""Tests of the draft stage."""
