"""The screens in a browser: one process a visitor, spoken to over a web socket."""
