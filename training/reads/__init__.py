"""What pages and documents show, read with a fixed number of queries and handed on as plain data."""
