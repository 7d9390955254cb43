"""What a record is, and how a site's folder is read into records.

quantity, fields   the values a field can have
kind               what a kind of record is; reading one record
former_names       fields that were renamed, and what they are called now
places … work      the kinds, one module a subject, each field with its meaning and audience
kinds              the list of them all
layout             which file holds which records
reading            a folder's texts → records and problems
edition            what of them the client may read
schema             the JSON Schema of the files, for editors
reference          the tables of all fields and of what the client may read, for the documentation
"""
