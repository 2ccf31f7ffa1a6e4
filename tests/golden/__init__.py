"""What a user sees, whole."""
