"""The local page: server-rendered, for one person at one machine. Writes carry what was seen."""
