"""Saved profiles: batteries, outings, climates and buyers' cases, with every version and in one folder."""
