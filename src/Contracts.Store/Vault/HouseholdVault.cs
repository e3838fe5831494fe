using Contracts.Agreements;
using Contracts.Seals;
using Contracts.Store.Json;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Vault;

/// <summary>What is known of a family, opened for somebody who said why.</summary>
/// <param name="Household">The household.</param>
/// <param name="Facts">The facts in the order of their names; those about students only where they were asked for.</param>
/// <param name="Hidden">How many facts are kept and not shown.</param>
/// <param name="Unreadable">How many the event names and the vault cannot open: damage, never an erasure.</param>
/// <param name="RecordedAt">When they were recorded.</param>
/// <param name="ErasedAt">When the household was erased; nothing can be shown then.</param>
public sealed record HouseholdView(
    string Household, IReadOnlyList<SaltedDisclosure> Facts, int Hidden, int Unreadable, Instant RecordedAt, Instant? ErasedAt);

/// <summary>Somebody opened what is known of a family.</summary>
public readonly record struct Reading(Instant At, string By, string Purpose, bool Students);

/// <summary>
/// Personal data, apart from the history. The history holds digests; here are the texts, sealed under a key for each
/// household that lies outside the database. Whoever reads leaves a line, before the answer.
/// </summary>
public sealed class HouseholdVault
{
    private const string Stream = """
        select e.type, e.data, e.timestamp from contracts.mt_events e
        where e.stream_id = $1 and e.timestamp <= $2 and e.type <> 'household_paid' order by e.version
        """;

    private readonly NpgsqlDataSource source;
    private readonly NpgsqlDataSource vault;
    private readonly HouseholdKeys? keys;
    private readonly TelephoneIndex telephones;

    /// <param name="source">The history.</param>
    /// <param name="vault">The vault's tables, which may be reached by another role.</param>
    /// <param name="keys">The keys, or null where this process is not given any.</param>
    internal HouseholdVault(NpgsqlDataSource source, NpgsqlDataSource vault, HouseholdKeys? keys)
    {
        this.source = source;
        this.vault = vault;
        this.keys = keys;
        telephones = new TelephoneIndex(vault);
    }

    private HouseholdKeys Keys => keys
        ?? throw new StoreException("No folder of household keys is set (CONTRACTS_KEYS): personal data can be neither kept nor read here.");

    /// <summary>Opens what is known of a household as known at a moment, or null where nothing was ever told.</summary>
    /// <param name="household">Which.</param>
    /// <param name="reader">Who reads.</param>
    /// <param name="purpose">Why; kept with the reader's name.</param>
    /// <param name="students">Whether facts about students are shown.</param>
    /// <param name="known">The moment.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<HouseholdView?> ReadAsync(
        string household, string reader, string purpose, bool students, Instant known, CancellationToken stop = default)
    {
        var (described, at, erasedAt) = await FindAsync(household, known, stop).ConfigureAwait(false);
        if (described is null) { return null; }
        if (erasedAt is not null) { return new HouseholdView(household, [], 0, 0, at, erasedAt); }
        var key = Keys.Find(household);
        await RecordReadingAsync(household, reader, purpose, students, stop).ConfigureAwait(false);
        var (facts, unreadable) = await OpenAsync(described, key, stop).ConfigureAwait(false);
        var shown = facts.Where(fact => students || !new Households.PersonalFact(fact.Name, fact.Value).IsOfStudent)
            .OrderBy(fact => fact.Name, StringComparer.Ordinal).ToList();
        return new HouseholdView(household, shown, facts.Count - shown.Count, unreadable, at, null);
    }

    /// <summary>
    /// The households whose telephone number, as it was told last, is a text; none where the text is no such number or no key is here. Each is written down as
    /// a reading before the answer.
    /// </summary>
    /// <param name="text">The number, however it is written.</param>
    /// <param name="by">Who looks.</param>
    /// <param name="purpose">Why; kept with the name.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<IReadOnlyList<string>> FindByTelephoneAsync(string text, string by, string purpose, CancellationToken stop = default)
    {
        if (keys is null || Contracts.Households.TelephoneNumber.Of(text) is not { } number) { return []; }
        var households = new List<string>();
        foreach (var (household, digest) in await telephones.FindAsync(number, keys, stop).ConfigureAwait(false))
        {
            var (described, _, erasedAt) = await FindAsync(household, Instant.MaxValue, stop).ConfigureAwait(false);
            if (erasedAt is not null || described?.Digests.Contains(digest) != true) { continue; }
            await RecordReadingAsync(household, by, purpose, students: false, stop).ConfigureAwait(false);
            households.Add(household);
        }

        return households;
    }

    /// <summary>Everybody who opened a household's facts, in order.</summary>
    public async Task<IReadOnlyList<Reading>> ReadingsAsync(string household, CancellationToken stop = default)
    {
        await using var command = vault.CreateCommand("select read_at, read_by, purpose, students from vault.readings where household = $1 order by reading");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = household });
        var readings = new List<Reading>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            readings.Add(new Reading(reader.GetFieldValue<Instant>(0), reader.GetString(1), reader.GetString(2), reader.GetBoolean(3)));
        }

        return readings;
    }

    /// <summary>Seals the facts of commands that describe households; they then carry the digests and no fact.</summary>
    internal async Task<IReadOnlyList<CommandRequest>> KeepAsync(IReadOnlyList<CommandRequest> batch, CancellationToken stop)
    {
        if (!batch.Any(request => request.Command is Command.DescribeHousehold or Command.EraseHousehold)) { return batch; }
        // Before anything is recorded: an erasure that cannot reach the keys would be none.
        _ = Keys;
        var kept = new CommandRequest[batch.Count];
        for (var index = 0; index < kept.Length; index++)
        {
            kept[index] = batch[index].Command is Command.DescribeHousehold { Digests.IsEmpty: true } told
                ? batch[index] with { Command = await KeepAsync(told, stop).ConfigureAwait(false) }
                : batch[index];
        }

        return kept;
    }

    /// <summary>
    /// Ends what <see cref="KeepAsync(IReadOnlyList{CommandRequest}, CancellationToken)"/> began: what was refused is taken out again,
    /// what was erased is destroyed. Giving the same erasure again finishes one that was cut short.
    /// </summary>
    internal async Task SettleAsync(IReadOnlyList<CommandRequest> kept, IReadOnlyList<CommandResult> results, CancellationToken stop)
    {
        for (var index = 0; index < kept.Count; index++)
        {
            switch (kept[index].Command)
            {
                case Command.DescribeHousehold told when results[index] is not CommandResult.Applied:
                    await ExecuteAsync("delete from vault.facts where digest = any($1)", told.Digests.ToArray(), stop).ConfigureAwait(false);
                    break;
                case Command.EraseHousehold erased when results[index] is not CommandResult.Refused:
                    await DestroyAsync(erased.Household, stop).ConfigureAwait(false);
                    break;
                default: break;
            }
        }
    }

    private async Task DestroyAsync(string household, CancellationToken stop)
    {
        // The key first: after it the rows are noise, whatever becomes of them.
        Keys.Destroy(household);
        await ExecuteAsync("delete from vault.facts where household = $1", household, stop).ConfigureAwait(false);
    }

    private async Task<Command.DescribeHousehold> KeepAsync(Command.DescribeHousehold told, CancellationToken stop)
    {
        var key = Keys.FindOrMake(told.Household);
        var facts = told.Facts.Select(SealedFact.Salt).OrderBy(fact => fact.Digest, StringComparer.Ordinal).ToArray();
        await using var command = vault.CreateCommand("insert into vault.facts (digest, household, sealed) select d, $2, s from unnest($1, $3) as new (d, s)");
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. facts.Select(fact => fact.Digest)] });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = told.Household });
        command.Parameters.Add(new NpgsqlParameter<byte[][]> { TypedValue = [.. facts.Select(fact => SealedFact.Close(fact, key))] });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        await telephones.PutAsync(facts.Where(fact => fact.Name == TelephoneIndex.Fact).Select(fact => (fact.Digest, fact.Value)), Keys, stop).ConfigureAwait(false);
        return told with { Facts = [], Digests = [.. facts.Select(fact => fact.Digest)] };
    }

    private async Task<(HouseholdDescribed? Described, Instant At, Instant? ErasedAt)> FindAsync(string household, Instant known, CancellationToken stop)
    {
        (HouseholdDescribed? Described, Instant At, Instant? ErasedAt) found = default;
        await using var command = source.CreateCommand(Stream);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = HouseholdStreams.Of(household) });
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = Moments.ToMicroseconds(known) });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            var at = reader.GetFieldValue<Instant>(2);
            if (reader.GetString(0) == "household_erased") { found.ErasedAt = at; }
            else { (found.Described, found.At) = ((HouseholdDescribed)EventJson.Read("household_described"u8, reader.GetFieldValue<byte[]>(1)), at); }
        }

        return found;
    }

    private async Task<(List<SaltedDisclosure> Facts, int Unreadable)> OpenAsync(HouseholdDescribed described, byte[]? key, CancellationToken stop)
    {
        await using var command = vault.CreateCommand("select digest, sealed from vault.facts where digest = any($1)");
        command.Parameters.Add(new NpgsqlParameter<string[]> { TypedValue = [.. described.Digests] });
        var facts = new List<SaltedDisclosure>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            if (key is not null && SealedFact.Open(reader.GetFieldValue<byte[]>(1), reader.GetString(0), key) is { } fact) { facts.Add(fact); }
        }

        return (facts, described.Digests.Length - facts.Count);
    }

    private async Task RecordReadingAsync(string household, string by, string purpose, bool students, CancellationToken stop)
    {
        await using var command = vault.CreateCommand("insert into vault.readings (household, read_by, purpose, students) values ($1, $2, $3, $4)");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = household });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = purpose });
        command.Parameters.Add(new NpgsqlParameter<bool> { TypedValue = students });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    private async Task ExecuteAsync<T>(string sql, T value, CancellationToken stop)
    {
        await using var command = vault.CreateCommand(sql);
        command.Parameters.Add(new NpgsqlParameter<T> { TypedValue = value });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }
}
