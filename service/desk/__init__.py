"""The salesperson's desk: pages, drawings and papers that a person reads, over the same answers that programs get."""
