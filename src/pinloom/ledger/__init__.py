"""Who holds which key, what is pinned in which door, and since when: append-only, chained, sealed.

The way in: ``Ledger.create`` / ``Ledger.open`` (``store``), ``Ledger.do`` with an action of
``people``, ``enter``, ``workshop``, ``cylinders``, ``counter``, ``stock``, ``inventory`` or
``lists_in``; ``Ledger.ask`` with a question of ``queries``, ``register``, ``verify``, ``secrets``;
``unlocking`` for the passphrase; ``backup``.

``fold`` says what an event does; ``events`` what the chain is made of; ``database`` is the one
place that knows how the two databases differ.
"""
