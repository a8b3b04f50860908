"""Addresses of training’s pages, one area a file."""
