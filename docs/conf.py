"""Settings of the documents: markdown in, one theme, and every broken reference a failure."""

from pinloom import __version__

project = "pinloom"
author = "the pinloom contributors"
copyright = "the pinloom contributors"
version = release = __version__

extensions = ["myst_parser"]
myst_enable_extensions = ["deflist", "colon_fence"]
myst_heading_anchors = 3
# Links from and to files outside this folder; tests/house checks that they lead somewhere.
suppress_warnings = ["myst.xref_missing"]
exclude_patterns = ["_build"]
nitpicky = True

html_theme = "furo"
html_title = "pinloom"
html_show_sphinx = False
