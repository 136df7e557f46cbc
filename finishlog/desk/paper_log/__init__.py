"""A paper log's sheets read: columns guessed, rows understood, trucks told apart."""
