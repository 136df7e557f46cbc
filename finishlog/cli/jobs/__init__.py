"""Commands on jobs: find, start, edit, log what happened, what is due."""
