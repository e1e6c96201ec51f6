"""What matters first."""
