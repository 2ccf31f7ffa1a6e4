"""Use cases: each joins stages for one command or page, and nothing here is clever.

One module a use case; each takes plain arguments and returns a frozen record with its result and
its findings. Shared pieces: ``folder`` (job folders), ``hardware`` (formats of a job), ``store``
(files that change all together or not at all).
"""
