"""Frozen values that every layer may hold."""
