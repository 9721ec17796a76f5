"""The pages of the app, one file each, and what they share."""
