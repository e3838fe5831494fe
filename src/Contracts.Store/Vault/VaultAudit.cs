using Npgsql;

namespace Contracts.Store.Vault;

/// <summary>A place where the vault does not fit the history.</summary>
public sealed record VaultDifference(string Kind, string Household, string Detail);

/// <summary>Holds the vault against the history: nothing that is named is missing, nothing that was erased is left.</summary>
public sealed class VaultAudit
{
    private const string Lasting = """
        select e.data->>'household', d.digest
        from contracts.mt_events e, jsonb_array_elements_text(e.data->'_sd') as d (digest)
        where e.type = 'household_described'
          and not exists (select 1 from contracts.mt_events x where x.stream_id = e.stream_id and x.type = 'household_erased')
        """;

    private const string Erased = "select e.data->>'household' from contracts.mt_events e where e.type = 'household_erased'";

    private readonly NpgsqlDataSource source;
    private readonly NpgsqlDataSource vault;
    private readonly HouseholdKeys? keys;

    internal VaultAudit(NpgsqlDataSource source, NpgsqlDataSource vault, HouseholdKeys? keys)
    {
        this.source = source;
        this.vault = vault;
        this.keys = keys;
    }

    /// <summary>Everything that differs, and how many facts were looked at. Facts of a transaction under way count as left over.</summary>
    public async Task<(long Facts, IReadOnlyList<VaultDifference> Differences)> RunAsync(CancellationToken stop = default)
    {
        var differences = new List<VaultDifference>();
        var rows = new Dictionary<string, (string Household, byte[] Sealed)>(StringComparer.Ordinal);
        await foreach (var row in ReadAsync(vault, "select digest, household, sealed from vault.facts", stop).ConfigureAwait(false))
        {
            rows[row.GetString(0)] = (row.GetString(1), row.GetFieldValue<byte[]>(2));
        }

        var facts = 0L;
        await foreach (var named in ReadAsync(source, Lasting, stop).ConfigureAwait(false))
        {
            facts++;
            var (household, digest) = (named.GetString(0), named.GetString(1));
            if (!rows.Remove(digest, out var row)) { differences.Add(new VaultDifference("fact-missing", household, $"The vault has no fact for the digest {digest}.")); }
            else if (keys?.Find(household) is { } key && SealedFact.Open(row.Sealed, digest, key) is null)
            {
                differences.Add(new VaultDifference("fact-unreadable", household, $"The fact of digest {digest} cannot be opened with the household's key."));
            }
        }

        await foreach (var erased in ReadAsync(source, Erased, stop).ConfigureAwait(false))
        {
            var household = erased.GetString(0);
            if (keys?.Find(household) is not null) { differences.Add(new VaultDifference("erasure-unfinished", household, "Its key is still there; give the erasure again.")); }
        }

        differences.AddRange(rows.Values.Select(row => row.Household).Distinct(StringComparer.Ordinal)
            .Select(household => new VaultDifference("fact-left-over", household, "The vault has facts of it that no event names.")));
        return (facts, differences);
    }

    private static async IAsyncEnumerable<NpgsqlDataReader> ReadAsync(
        NpgsqlDataSource from, string sql, [System.Runtime.CompilerServices.EnumeratorCancellation] CancellationToken stop)
    {
        await using var command = from.CreateCommand(sql);
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { yield return reader; }
    }
}
