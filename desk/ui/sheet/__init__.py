"""What the sheets are made of: pages and sections, choices, tables of rows."""
