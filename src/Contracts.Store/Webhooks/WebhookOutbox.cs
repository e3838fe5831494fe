using Contracts.Store.Reading;
using Contracts.Store.Setup;
using NodaTime;
using Npgsql;
using NpgsqlTypes;

namespace Contracts.Store.Webhooks;

/// <summary>
/// What is still to be told. The events themselves are the outbox: they are there when the command is, and each webhook has a number up to which
/// it was told. One host at a time works on a webhook, whatever their number.
/// </summary>
public sealed class WebhookOutbox
{
    // Where nothing waits, looking takes no lock.
    private const string Due = """
        select w.id from access.webhooks w join access.webhook_states s on s.webhook = w.id
        where s.paused_because is null and (s.next_at is null or s.next_at <= $1)
          and not exists (select from access.webhook_removals r where r.webhook = w.id)
          and exists (select from contracts.mt_events e where e.seq_id > s.position)
        order by w.made_at, w.id
        """;

    private const string State = """
        select w.url, w.events, w.allow_private, w.secret, s.position, s.turn, s.attempts from access.webhooks w join access.webhook_states s on s.webhook = w.id
        where w.id = $1 and s.paused_because is null and (s.next_at is null or s.next_at <= $2)
          and not exists (select from access.webhook_removals r where r.webhook = w.id)
        """;

    private readonly NpgsqlDataSource source;

    internal WebhookOutbox(NpgsqlDataSource source) => this.source = source;

    /// <summary>The webhooks for which something was recorded and that are not waiting, paused or ended.</summary>
    /// <param name="now">The host's time.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<IReadOnlyList<string>> DueAsync(Instant now, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(Due);
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = now });
        var ids = new List<string>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { ids.Add(reader.GetString(0)); }
        return ids;
    }

    /// <summary>Takes a webhook to work on it; null while somebody else does, or where it is not due any more.</summary>
    public async Task<WebhookTurn?> TakeAsync(string id, Instant now, CancellationToken stop = default)
    {
        var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        try
        {
            await using (var take = new NpgsqlCommand("select pg_try_advisory_lock(hashtextextended($1, 6))", connection))
            {
                take.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
                if (await take.ExecuteScalarAsync(stop).ConfigureAwait(false) is not true)
                {
                    await connection.DisposeAsync().ConfigureAwait(false);
                    return null;
                }
            }

            var turn = await ReadAsync(connection, id, now, stop).ConfigureAwait(false);
            if (turn is null) { await WebhookTurn.GiveBackAsync(connection, id).ConfigureAwait(false); }
            return turn;
        }
        catch
        {
            await WebhookTurn.GiveBackAsync(connection, id).ConfigureAwait(false);
            throw;
        }
    }

    private static async Task<WebhookTurn?> ReadAsync(NpgsqlConnection connection, string id, Instant now, CancellationToken stop)
    {
        await using var command = new NpgsqlCommand(State, connection);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
        command.Parameters.Add(new NpgsqlParameter<Instant> { TypedValue = now });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false)
            ? new WebhookTurn(
                connection, id, reader.GetString(0), reader.IsDBNull(1) ? null : reader.GetFieldValue<string[]>(1), reader.GetBoolean(2), reader.GetString(3),
                reader.GetInt64(4), reader.GetInt64(5), reader.GetInt32(6))
            : null;
    }
}

/// <summary>The work on one webhook: nobody else has it meanwhile. What was delivered is on the disk before the next event is sent.</summary>
public sealed class WebhookTurn : IAsyncDisposable
{
    private const string Events = $"""
        select {StoredEvent.Columns}, e.version from contracts.mt_events e
        where e.seq_id > $1 and e.seq_id <= $2 and e.stream_id !~ '[:_]' and ($3::text[] is null or e.type = any($3)) order by e.seq_id limit $4
        """;

    private readonly NpgsqlConnection connection;
    private readonly string[]? events;
    private readonly long turn;
    private long position;

    internal WebhookTurn(
        NpgsqlConnection connection, string id, string url, string[]? events, bool allowPrivate, string secret, long position, long turn, int attempts)
    {
        (this.connection, this.events, this.position, this.turn) = (connection, events, position, turn);
        (Id, Url, AllowPrivate, Secret, Attempts) = (id, url, allowPrivate, secret, attempts);
    }

    /// <summary>The webhook.</summary>
    public string Id { get; }

    /// <summary>Where to.</summary>
    public string Url { get; }

    /// <summary>Whether the address may lie in a private network.</summary>
    public bool AllowPrivate { get; }

    /// <summary>What messages are signed with. Never printed.</summary>
    public string Secret { get; }

    /// <summary>How often in a row the next event could not be delivered.</summary>
    public int Attempts { get; }

    /// <summary>The next events in the store's order, and the number up to which they are complete.</summary>
    /// <remarks>
    /// Waits for a writer under way. Numbers are given out under the writers' lock, so whatever is missing below the largest number
    /// was rolled back and never comes: no event is passed over because it was recorded slowly.
    /// </remarks>
    public async Task<(IReadOnlyList<Telling> Events, long Through)> NextAsync(int most, CancellationToken stop = default)
    {
        var horizon = await HorizonAsync(stop).ConfigureAwait(false);
        await using var command = new NpgsqlCommand(Events, connection);
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = position });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = horizon });
        command.Parameters.Add(new NpgsqlParameter { Value = events ?? (object)DBNull.Value, NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Text });
        command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = most });
        var found = new List<Telling>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { found.Add(new Telling(reader.GetString(0), reader.GetInt64(6), RowReader.Read(reader))); }
        return (found, found.Count == most ? found[^1].Entry.Sequence : horizon);
    }

    /// <summary>Notes that everything through a number was delivered, or is not for this webhook.</summary>
    /// <returns>Whether to go on; not when it was ended, or somebody asked for something to be sent again.</returns>
    public async Task<bool> MovedAsync(long through, bool delivered, CancellationToken stop = default)
    {
        position = through;
        return await UpdateAsync(
            "position = $3, attempts = 0, next_at = null, delivered_at = case when $4 then clock_timestamp() else delivered_at end", stop,
            new NpgsqlParameter<long> { TypedValue = through }, new NpgsqlParameter<bool> { TypedValue = delivered }).ConfigureAwait(false);
    }

    /// <summary>Notes that the next event could not be delivered.</summary>
    /// <param name="why">Why, in words that hold nothing of what was sent or answered.</param>
    /// <param name="nextAt">When to try again, by the host's clock; null together with a pause.</param>
    /// <param name="pausedBecause">Why nothing is tried any more, or null.</param>
    /// <param name="stop">Gives up.</param>
    public Task<bool> FailedAsync(string why, Instant? nextAt, string? pausedBecause, CancellationToken stop = default) => UpdateAsync(
        "attempts = attempts + 1, last_error = $3, last_error_at = clock_timestamp(), next_at = $4, paused_because = $5", stop,
        new NpgsqlParameter<string> { TypedValue = why },
        new NpgsqlParameter { Value = nextAt ?? (object)DBNull.Value, NpgsqlDbType = NpgsqlDbType.TimestampTz },
        new NpgsqlParameter { Value = pausedBecause ?? (object)DBNull.Value, NpgsqlDbType = NpgsqlDbType.Text });

    /// <summary>Lets others have it.</summary>
    public async ValueTask DisposeAsync() => await GiveBackAsync(connection, Id).ConfigureAwait(false);

    internal static async Task GiveBackAsync(NpgsqlConnection connection, string id)
    {
        try
        {
            // A connection that broke has given its lock back already.
            if (connection.State == System.Data.ConnectionState.Open)
            {
                await using var command = new NpgsqlCommand("select pg_advisory_unlock(hashtextextended($1, 6))", connection);
                command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
                await command.ExecuteNonQueryAsync(CancellationToken.None).ConfigureAwait(false);
            }
        }
        catch (NpgsqlException)
        {
            NpgsqlConnection.ClearPool(connection);
        }
        finally
        {
            await connection.DisposeAsync().ConfigureAwait(false);
        }
    }

    private async Task<long> HorizonAsync(CancellationToken stop)
    {
        await using var batch = new NpgsqlBatch(connection);
        batch.BatchCommands.Add(new NpgsqlBatchCommand($"select pg_advisory_xact_lock_shared({StoreSchema.WriterLock})"));
        batch.BatchCommands.Add(new NpgsqlBatchCommand("select coalesce(max(seq_id), 0) from contracts.mt_events"));
        await using var reader = await batch.ExecuteReaderAsync(stop).ConfigureAwait(false);
        await reader.NextResultAsync(stop).ConfigureAwait(false);
        await reader.ReadAsync(stop).ConfigureAwait(false);
        return Math.Max(position, reader.GetInt64(0));
    }

    private async Task<bool> UpdateAsync(string changes, CancellationToken stop, params NpgsqlParameter[] parameters)
    {
        await using var command = new NpgsqlCommand($"update access.webhook_states set {changes} where webhook = $1 and turn = $2", connection);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = Id });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = turn });
        command.Parameters.AddRange(parameters);
        return await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false) == 1;
    }
}
