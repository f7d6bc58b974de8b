"""The kinds of bank: constants of each chemistry and its capacity laws."""
