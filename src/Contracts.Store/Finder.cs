using Npgsql;

namespace Contracts.Store;

/// <summary>A contract that a search found, and by what.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="By">Which of its things was asked for: contract, household, instrument, receipt.</param>
/// <param name="What">That thing as it is recorded.</param>
public sealed record Found(string Contract, string By, string What);

/// <summary>
/// Finds contracts by what people have in hand: the beginning of a contract's id, a household's reference, an instrument's serial, the
/// reference or key of a payment. Names lie sealed in the vault and cannot be searched;
/// telephone numbers are found by <see cref="Vault.HouseholdVault.FindByTelephoneAsync"/>.
/// </summary>
public sealed class Finder
{
    private const int Most = 50;

    // Events that place an instrument, by their stored names.
    private const string Search = """
        select id, 'contract', id from contracts.mt_streams where lower(id) like $2 and id not like '%:%'
        union
        select stream_id, 'household', data ->> 'household' from contracts.mt_events where type = 'signed' and lower(data ->> 'household') = $1
        union
        select stream_id, 'instrument', coalesce(data -> 'instrument' ->> 'serial', data ->> 'serial') from contracts.mt_events
        where type in ('signed', 'instrument_swapped', 'instrument_exchanged', 'reinstated')
            and lower(coalesce(data -> 'instrument' ->> 'serial', data ->> 'serial')) = $1
        union
        select stream_id, 'receipt', data ->> 'reference' from contracts.mt_events
        where type in ('payment_received', 'bought_early') and lower(data ->> 'reference') = $1
        union
        select contract, 'receipt', key from contracts.command_keys where key = $3 and contract is not null
        order by 1, 2 limit $4
        """;

    private readonly NpgsqlDataSource source;

    internal Finder(NpgsqlDataSource source) => this.source = source;

    /// <summary>The contract that was signed last, or null while there is none: what a shop offers today looks most like it.</summary>
    public async Task<string?> LastSignedAsync(CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("select stream_id from contracts.mt_events where type = 'signed' order by seq_id desc limit 1");
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) as string;
    }

    /// <summary>The contracts that a text fits, by contract, at most fifty.</summary>
    public async Task<IReadOnlyList<Found>> FindAsync(string text, CancellationToken stop = default)
    {
        var found = new List<Found>();
        var wanted = text.Trim();
        if (wanted.Length == 0) { return found; }
        var lower = wanted.ToLowerInvariant();
        await using var command = source.CreateCommand(Search);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = lower });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = lower.Replace("\\", "\\\\", StringComparison.Ordinal)
            .Replace("%", "\\%", StringComparison.Ordinal).Replace("_", "\\_", StringComparison.Ordinal) + "%" });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = wanted });
        command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = Most });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { found.Add(new Found(reader.GetString(0), reader.GetString(1), reader.GetString(2))); }
        return found;
    }
}
