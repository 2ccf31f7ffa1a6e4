"""Tests of the design engine."""
