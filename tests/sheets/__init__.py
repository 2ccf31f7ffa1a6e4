"""Tests of drawings and paper."""
