"""One room a part of the answer: its arrays, what it shows, and what it finds."""
