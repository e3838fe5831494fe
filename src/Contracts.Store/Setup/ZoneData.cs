using NodaTime.TimeZones;
using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>
/// The version of the time zone rules (such as 2025b) that the store has worked with. Newer rules may give a moment another local
/// day, so a program with older ones could find another day for a fact than the one that was answered before.
/// </summary>
internal static class ZoneData
{
    /// <summary>What this program brings. The names sort by age: a year and a letter.</summary>
    public static string Own => TzdbDateTimeZoneSource.Default.TzdbVersion;

    /// <summary>Refuses a store that has worked with newer rules; answers whether ours are newer than what it knows.</summary>
    public static bool IsNewerThan(string? recorded)
    {
        var order = string.CompareOrdinal(Own, recorded);
        return order >= 0
            ? order > 0
            : throw new StoreException(
                $"This store has worked with the time zone rules {recorded}, and this program brings the older {Own}: "
                + "the same moment could fall on another day. Use a newer program.");
    }

    public static async Task RecordAsync(NpgsqlConnection connection, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand("insert into contracts.zone_data (version) values ($1) on conflict do nothing", connection)
        {
            Parameters = { new NpgsqlParameter<string> { TypedValue = Own } },
        };
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
