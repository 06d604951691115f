"""A second, independent computation of the results file, and a generator of hard exports to compare the two on.

In: the export layout and the definitions of the measures, read as documents. Out: `reckoning.reckon` and
`nasty.write_export`. Refuses: to import anything of the pipeline or read its SQL; a copy would agree with any mistake.
"""
