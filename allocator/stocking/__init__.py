"""Many vehicles in, what to keep on the shelf out: types, quantities, reorder points, what to build and to cut."""
