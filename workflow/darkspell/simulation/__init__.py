"""The system of a study, its input series, and the run over all members with its feedbacks."""
