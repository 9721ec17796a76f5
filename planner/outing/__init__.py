"""outing"""
