"""Every sentence that is said of a cable or a record, once. In: Diagnosis, Record. Out: sentences."""
