"""What data must look like: codebook, crosswalks, study settings, vocabularies, finding rules."""
