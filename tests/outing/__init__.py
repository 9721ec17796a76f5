"""Tests of the outing room."""
