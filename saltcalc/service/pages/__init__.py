"""The pages for a person at the bench: a form, and its answer with pictures."""
