"""Ways to convert a group: one module for each kind of arrangement, and the plan that judges them all."""
