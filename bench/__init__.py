"""Measurements of the program, by family: `./dev bench [NAME...] [--quick]`.

A family is a module `bench_NAME.py` here with `run(out_dir: Path, quick: bool) -> None`. It writes
its records with `bench.kit.keep` and prints a short table. Its docstring says what it measures.
"""
