"""screens"""
