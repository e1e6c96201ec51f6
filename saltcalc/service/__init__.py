"""HTTP service."""
