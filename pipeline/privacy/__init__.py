"""What may be shown of others."""
