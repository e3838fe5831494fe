using System.Security.Cryptography;
using Contracts.Store.Setup;
using NodaTime;
using Npgsql;
using NpgsqlTypes;

namespace Contracts.Store.Webhooks;

/// <summary>The webhooks of a store: made, listed, ended, and told again.</summary>
public sealed class WebhookBook
{
    /// <summary>What every secret begins with (Standard Webhooks); the rest is base64 of the key.</summary>
    public const string SecretPrefix = "whsec_";

    private const int SecretBytes = 32;
    private const int IdBytes = 6;

    private const string Select = """
        select w.id, w.url, w.events, w.allow_private, w.made_at, w.made_by, s.position,
               (select count(*) from contracts.mt_events e where e.seq_id > s.position and e.stream_id !~ '[:_]' and (w.events is null or e.type = any(w.events))),
               s.attempts, s.next_at, s.last_error, s.last_error_at, s.delivered_at, s.paused_because, r.removed_at
        from access.webhooks w join access.webhook_states s on s.webhook = w.id left join access.webhook_removals r on r.webhook = w.id
        order by w.made_at, w.id
        """;

    private const string Insert = """
        with made as (insert into access.webhooks (id, url, events, allow_private, secret, made_by) values ($1, $2, $3, $4, $5, $6) returning id)
        insert into access.webhook_states (webhook, position)
        select id, coalesce($7, (select coalesce(max(seq_id), 0) from contracts.mt_events)) from made
        """;

    private readonly NpgsqlDataSource source;

    internal WebhookBook(NpgsqlDataSource source) => this.source = source;

    /// <summary>Makes a webhook. Its secret is given here once; it is kept, because every message is signed with it.</summary>
    /// <param name="url">Where to.</param>
    /// <param name="events">The stored names of events; null for all.</param>
    /// <param name="allowPrivate">Whether the address may lie in a private network.</param>
    /// <param name="after">The number after which it is told; null for what is recorded from now on.</param>
    /// <param name="by">Who makes it.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<(string Id, string Secret)> AddAsync(
        string url, IReadOnlyList<string>? events, bool allowPrivate, long? after, string by, CancellationToken stop = default)
    {
        var id = $"wh-{Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(IdBytes))}";
        var secret = SecretPrefix + Convert.ToBase64String(RandomNumberGenerator.GetBytes(SecretBytes));
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        // A writer under way has its numbers already: without waiting for it, "from now on" could begin behind them.
        await using (var wait = new NpgsqlCommand($"select pg_advisory_xact_lock_shared({StoreSchema.WriterLock})", connection, transaction))
        {
            await wait.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        }

        await using var command = new NpgsqlCommand(Insert, connection, transaction);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = url });
        command.Parameters.Add(new NpgsqlParameter { Value = events is null ? DBNull.Value : events.ToArray(), NpgsqlDbType = NpgsqlDbType.Array | NpgsqlDbType.Text });
        command.Parameters.Add(new NpgsqlParameter<bool> { TypedValue = allowPrivate });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = secret });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        command.Parameters.Add(new NpgsqlParameter { Value = after ?? (object)DBNull.Value, NpgsqlDbType = NpgsqlDbType.Bigint });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        await transaction.CommitAsync(stop).ConfigureAwait(false);
        return (id, secret);
    }

    /// <summary>Every webhook that was ever made, the first one first.</summary>
    public async Task<IReadOnlyList<Webhook>> ListAsync(CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(Select);
        var found = new List<Webhook>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false))
        {
            found.Add(new Webhook(
                reader.GetString(0), reader.GetString(1), reader.IsDBNull(2) ? null : reader.GetFieldValue<string[]>(2), reader.GetBoolean(3),
                reader.GetFieldValue<Instant>(4), reader.GetString(5), reader.GetInt64(6), reader.GetInt64(7),
                reader.GetInt32(8), At(9), Text(10), At(11), At(12), Text(13), At(14)));
        }

        return found;

        Instant? At(int column) => reader.IsDBNull(column) ? null : reader.GetFieldValue<Instant>(column);
        string? Text(int column) => reader.IsDBNull(column) ? null : reader.GetString(column);
    }

    /// <summary>Ends a webhook for good, also for a host that is at it just now.</summary>
    /// <returns>Whether there is a webhook of that id.</returns>
    public async Task<bool> RemoveAsync(string id, string by, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("""
            with hook as (update access.webhook_states set turn = turn + 1 where webhook = $1 returning webhook),
                 ended as (insert into access.webhook_removals (webhook, removed_by) select webhook, $2 from hook on conflict do nothing)
            select exists (select from hook)
            """);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
    }

    /// <summary>Sends again from a number of the store's order on, or goes on where it stands; a pause and a wait end.</summary>
    /// <param name="id">The webhook.</param>
    /// <param name="from">The first number that is sent again; null to go on.</param>
    /// <param name="stop">Gives up.</param>
    /// <returns>Whether there is such a webhook that was not ended.</returns>
    public async Task<bool> SendAgainAsync(string id, long? from, CancellationToken stop = default)
    {
        // The new turn keeps a host that is at it just now from moving the position past what was asked for.
        await using var command = source.CreateCommand("""
            update access.webhook_states set turn = turn + 1, position = coalesce($2 - 1, position), attempts = 0, next_at = null, paused_because = null
            where webhook = $1 and not exists (select from access.webhook_removals r where r.webhook = $1)
            """);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
        command.Parameters.Add(new NpgsqlParameter { Value = from ?? (object)DBNull.Value, NpgsqlDbType = NpgsqlDbType.Bigint });
        return await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false) == 1;
    }
}
