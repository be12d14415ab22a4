"""Sheets to read and to print: the record of a batch, its copy for a customer, a day for the next shift, a month."""
