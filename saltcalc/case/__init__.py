"""What is given: the columns of a batch, and what is taken where nothing was said."""
