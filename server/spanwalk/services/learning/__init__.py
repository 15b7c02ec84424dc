"""What closed sites tell, kept by kind without names: made at closing, pooled, taken by other sites by choice."""
