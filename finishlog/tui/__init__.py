"""The screens: Textual lives here alone. They hold plain values and call the desks in workers."""
