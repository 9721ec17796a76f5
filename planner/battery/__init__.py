"""battery"""
