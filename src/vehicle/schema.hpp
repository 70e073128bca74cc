#pragma once
#include "vehicle/database.hpp"

namespace sparecoat::vehicle {

/// Marks a job file ("SPCO", bytes 68 to 71 of the file; SQLite, Database File Format, 1.3.16).
inline constexpr int job_application_id = 0x5350434F;
/// Of the tables below, kept in the file as its user_version.
inline constexpr int job_schema_version = 3;

/// Fills an empty database with the tables of the present version.
void create_schema(const Database& database);

/// Brings an older file's tables to the present version, within a transaction of the caller's that was begun
/// with foreign keys off. The log of edits begins anew. @throws InputError where the file's content will not
/// go over.
void migrate_schema(const Database& database, int from_version);

/// @throws InputError where the tables are not those that this program makes: then somebody else has changed
/// them.
void hold_to_own_tables(const Database& database);

} // namespace sparecoat::vehicle
