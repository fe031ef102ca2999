"""Many scenarios at once: tasks for any executor of the standard kind, their results on disk, and the table of all."""
