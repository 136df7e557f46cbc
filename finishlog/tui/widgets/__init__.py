"""Widgets of every screen: canvas, bars, scrolling pane, text box."""
