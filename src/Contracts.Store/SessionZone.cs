using Npgsql;

namespace Contracts.Store;

/// <summary>The zone a database session tells time in.</summary>
public static class SessionZone
{
    /// <summary>Refuses a session outside UTC: recorded time is written and read in UTC, and elsewhere has come out hours off.</summary>
    public static void RequireUtc(NpgsqlConnection connection)
    {
        if (connection.PostgresParameters.TryGetValue("TimeZone", out var zone) && zone is "UTC" or "Etc/UTC") { return; }
        throw new StoreException($"The database session's TimeZone is '{zone ?? "unknown"}' and must be UTC.");
    }
}
