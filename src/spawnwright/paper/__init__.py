"""Sheets and files for people: PDF, calendar; no decisions."""
