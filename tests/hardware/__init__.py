"""Tests of the hardware stage."""
