"""explain"""
