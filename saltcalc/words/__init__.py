"""Every sentence that a person reads, by its id, and figures for people."""
