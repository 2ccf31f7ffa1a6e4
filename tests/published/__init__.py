"""Checks against numbers from outside the project, the source beside each."""
