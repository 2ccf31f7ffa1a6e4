"""Tests of the chart stage."""
