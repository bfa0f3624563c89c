"""Firmware for a plan: one programme model, and a module for each language that writes it out."""
