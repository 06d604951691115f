"""The commands, by what they are for: parse, call the spine, print.

Heavy imports wait inside each, so that --help is quick.
"""
