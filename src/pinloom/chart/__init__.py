"""Chart files to an access chart and findings, and back.

`read_chart` reads matrix, schedule and symbol form from CSV and XLSX; `as_rows` and `as_text` print
a chart for a person to check; `write_matrix` and `write_schedule` write it to files again.
"""

from pinloom.chart.read import ChartRead, read_chart
from pinloom.chart.rows import as_rows
from pinloom.chart.show import as_text
from pinloom.chart.write import write_matrix, write_schedule

__all__ = ["ChartRead", "as_rows", "as_text", "read_chart", "write_matrix", "write_schedule"]
