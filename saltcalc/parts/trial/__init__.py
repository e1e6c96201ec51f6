"""A trial of several media, read from how each crop fared in each."""
