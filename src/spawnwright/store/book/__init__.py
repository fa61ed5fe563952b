"""The record book: one database file that keeps every step, and what follows from the steps.

`steps` and `entries` are the book; all other tables follow from them and can be made again.
"""
