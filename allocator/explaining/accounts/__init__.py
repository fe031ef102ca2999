"""Where the amount of every goal of a plan comes from: see ``docs/explanations.md``, "Goal by goal"."""
