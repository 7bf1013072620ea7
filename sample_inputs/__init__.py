"""The sample study: fictional centres, their uploads of two weeks, and the generator of both."""
