"""Tests of the vault."""
