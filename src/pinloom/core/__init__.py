"""The nouns every stage shares. No I/O and no lock rules beyond what a record needs to be sane."""
