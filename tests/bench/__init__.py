"""Speed, as ratios beside a reference measured in the same run; never part of the tests."""
