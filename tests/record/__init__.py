"""Tests of the record room."""
