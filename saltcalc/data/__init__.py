"""Published tables as CSV, every row with its source; read and checked once."""
