"""What whoever runs the service sees of it: figures, logs, and what was answered; and what keeps it up."""
