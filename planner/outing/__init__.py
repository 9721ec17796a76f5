"""What the buyer needs: loads and their hours, to a timeline and to how hard for how long."""
