"""Chart files to an access chart and findings, and back.

`read_chart` reads matrix, schedule and symbol form from CSV and XLSX; `as_rows` and `as_text` print
a chart for a person to check; `write_matrix` and `write_schedule` write it to files again.
"""

from pinloom.chart.read import ChartRead, read_chart

__all__ = ["ChartRead", "read_chart"]
