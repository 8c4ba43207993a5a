"""What is said, and in whose words: below all rooms that speak to somebody."""
