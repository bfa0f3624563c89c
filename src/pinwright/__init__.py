"""Pinwright."""
