"""Tables that leave the desk: as a workbook, as CSV, as rows for print."""
