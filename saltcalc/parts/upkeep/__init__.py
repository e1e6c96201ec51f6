"""The salt that builds up between flushes."""
