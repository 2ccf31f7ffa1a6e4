"""Tests of the growth stage."""
