"""Which salts are dissolved in the media and the waters."""
