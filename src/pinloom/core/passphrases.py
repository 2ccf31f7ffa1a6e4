"""What is asked of a passphrase, whatever it seals."""

SHORTEST_PASSPHRASE = 10  # signs; ours, no source: a copied file is protected by nothing else
