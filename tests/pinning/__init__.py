"""Tests of the pinning stage."""
