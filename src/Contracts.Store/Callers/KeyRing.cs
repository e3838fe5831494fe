using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Callers;

/// <summary>A key that a program calls with, as the store knows it: never the key itself.</summary>
/// <param name="Id">What it is called in lists; made from its digest.</param>
/// <param name="Name">Whose it is.</param>
/// <param name="Role">What it may do.</param>
/// <param name="MadeAt">When it was made.</param>
/// <param name="MadeBy">Who made it.</param>
/// <param name="ExpiresAt">From when on it opens nothing.</param>
/// <param name="RevokedAt">When somebody took it back, or null.</param>
/// <param name="RevokedBy">Who did.</param>
/// <param name="IsOver">Whether its time had passed when this was read.</param>
public sealed record ApiKey(
    string Id, string Name, string Role, Instant MadeAt, string MadeBy, Instant ExpiresAt, Instant? RevokedAt, string? RevokedBy, bool IsOver)
{
    /// <summary>Whether it opens anything.</summary>
    public bool IsGood => RevokedAt is null && !IsOver;
}

/// <summary>
/// The keys of a store. A key is 256 random bits and is kept as its SHA-256 alone: a copy of the database opens nothing, and a
/// slow hash would only slow down what cannot be guessed.
/// </summary>
public sealed class KeyRing
{
    /// <summary>What every key begins with, so that one that was let out somewhere is known for what it is.</summary>
    public const string Prefix = "contracts_";

    private const int KeyBytes = 32;
    private const int IdDigits = 10;

    private const string Select = """
        select k.id, k.name, k.role, k.made_at, k.made_by, k.expires_at, r.revoked_at, r.revoked_by, k.expires_at <= clock_timestamp()
        from access.keys k left join access.revocations r on r.key = k.id
        """;

    private readonly NpgsqlDataSource source;

    internal KeyRing(NpgsqlDataSource source) => this.source = source;

    /// <summary>Makes a key. The text is given here once and kept nowhere.</summary>
    /// <param name="name">Whose it is.</param>
    /// <param name="role">What it may do.</param>
    /// <param name="days">How long it lasts.</param>
    /// <param name="by">Who makes it.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<(string Text, ApiKey Key)> MakeAsync(string name, string role, int days, string by, CancellationToken stop = default)
    {
        var text = Prefix + Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(KeyBytes));
        var digest = DigestOf(text);
        await using var command = source.CreateCommand("""
            insert into access.keys (id, digest, name, role, made_by, expires_at)
            values ($1, $2, $3, $4, $5, clock_timestamp() + make_interval(days => $6))
            """);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = $"k-{Convert.ToHexStringLower(digest)[..IdDigits]}" });
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = digest });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = name });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = role });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        command.Parameters.Add(new NpgsqlParameter<int> { TypedValue = days });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
        return (text, await FindAsync(text, stop).ConfigureAwait(false) ?? throw new StoreException("The key that was just made is not there."));
    }

    /// <summary>The key of a text, good or not, or null where no key has it.</summary>
    public async Task<ApiKey?> FindAsync(string text, CancellationToken stop = default)
    {
        // Found by an index over digests: what the time of an answer tells is about a hash, from which no key can be made.
        await using var command = source.CreateCommand($"{Select} where k.digest = $1");
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = DigestOf(text) });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false) ? Read(reader) : null;
    }

    /// <summary>Every key that was ever made, the first one first.</summary>
    public async Task<IReadOnlyList<ApiKey>> ListAsync(CancellationToken stop = default)
    {
        await using var command = source.CreateCommand($"{Select} order by k.made_at, k.id");
        var keys = new List<ApiKey>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { keys.Add(Read(reader)); }
        return keys;
    }

    /// <summary>Ends a key for good; giving it again changes nothing.</summary>
    /// <returns>Whether there is a key of that id.</returns>
    public async Task<bool> RevokeAsync(string id, string by, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("""
            with key as (select id from access.keys where id = $1),
                 ended as (insert into access.revocations (key, revoked_by) select id, $2 from key on conflict do nothing)
            select exists (select from key)
            """);
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = id });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
    }

    private static byte[] DigestOf(string text) => SHA256.HashData(Encoding.UTF8.GetBytes(text));

    private static ApiKey Read(NpgsqlDataReader reader) => new(
        reader.GetString(0), reader.GetString(1), reader.GetString(2), reader.GetFieldValue<Instant>(3), reader.GetString(4),
        reader.GetFieldValue<Instant>(5), reader.IsDBNull(6) ? null : reader.GetFieldValue<Instant>(6),
        reader.IsDBNull(7) ? null : reader.GetString(7), reader.GetBoolean(8));
}
