"""Text to syntax: tokens, statements, and each statement's parse with the tables that lark made from the grammar."""
