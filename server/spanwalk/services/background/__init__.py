"""Files that take long: made on a thread, told how far they are, kept in the photo store in parts for any server to hand out."""
