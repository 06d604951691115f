"""What a reader takes away from the pages: the figures as a workbook, the charts as files."""
