"""How many combinations of cuts operate each door, where the count is quick."""

from pinloom.core.job import Job

MOST_DOORS = 60  # beyond, the audit is a command of its own


def combinations(job: Job) -> dict[str, int] | None:
    """Exact combinations by door; None for a job that is better audited apart."""
    if len(job.chart.doors) > MOST_DOORS:
        return None
    from pinloom.audit import door_counts  # its pictures load a library of templates

    return {one.door: one.exact for one in door_counts(job)}
