"""The service under more requests than it can answer."""
