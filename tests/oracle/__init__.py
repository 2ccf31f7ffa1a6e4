"""Second opinions on designs of tiny locks."""
