"""What is printed: an outcome becomes sheets, which are data; sheets become PDF, XLSX, CSV, SVG."""
