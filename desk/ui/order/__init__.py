"""The running order: rows, joins and the shelf of what is set aside."""
