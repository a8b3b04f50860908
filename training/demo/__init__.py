"""The demo practice: eighteen months of an invented group, played by the same actions that people use.

The scenario is a readable file (fixtures/demo/practice.yaml); the code here plays it week by week with the clock set.
"""
