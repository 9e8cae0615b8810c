"""Calendar feeds: floor 7."""
