"""Addresses of the clinic’s site pages, one area a file."""
