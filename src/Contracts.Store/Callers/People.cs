using System.Security.Cryptography;
using System.Text;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Callers;

/// <summary>Somebody who signs in with a name and a password.</summary>
/// <param name="Name">As it was given; upper and lower case are one when it is looked for.</param>
/// <param name="Role">What they may do; for ever, another role is another name.</param>
/// <param name="MadeAt">When they were let in.</param>
/// <param name="MadeBy">Who let them in.</param>
/// <param name="PasswordSetAt">When the password that counts was set.</param>
/// <param name="DisabledAt">When they were shut out, or null.</param>
/// <param name="DisabledBy">Who shut them out.</param>
public sealed record Person(
    string Name, string Role, Instant MadeAt, string MadeBy, Instant PasswordSetAt, Instant? DisabledAt, string? DisabledBy)
{
    /// <summary>The hash of the password that counts, with its salt and its cost in it; for whoever compares a password with it.</summary>
    public string Hash { get; init; } = "";

    /// <summary>The number of the password that counts; another number ends every session that began with it.</summary>
    public long Password { get; init; }

    /// <summary>Says who, and no hash.</summary>
    public override string ToString() => $"{Name}, {Role}";
}

/// <summary>The people of a store. Passwords come here hashed; which hash that is, the host decides.</summary>
public sealed class People
{
    private const string Select = """
        select p.name, p.role, p.made_at, p.made_by, w.set_at, d.disabled_at, d.disabled_by, w.hash, w.password
        from access.people p
        join lateral (select hash, set_at, password from access.passwords w where w.who = p.who order by password desc limit 1) w on true
        left join access.departures d on d.who = p.who
        """;

    private const string Insert = """
        with person as (insert into access.people (who, name, role, made_by) select $1, $2, $3, $4
                        where not $6 or not exists (select from access.people) on conflict do nothing returning who),
             password as (insert into access.passwords (who, hash, set_by) select who, $5, $4 from person)
        select exists (select from person)
        """;

    /// <summary>Two first people at the same moment would both find nobody.</summary>
    private const string Alone = "select pg_advisory_xact_lock(hashtext('access.people'))";

    private readonly NpgsqlDataSource source;

    internal People(NpgsqlDataSource source) => this.source = source;

    /// <summary>What a name is known by: the same for every spelling in upper and lower case, and of one length.</summary>
    internal static byte[] WhoIs(string name) => SHA256.HashData(Encoding.UTF8.GetBytes(name.Trim().ToLowerInvariant()));

    /// <summary>Lets somebody in.</summary>
    /// <returns>Whether the name was free.</returns>
    public async Task<bool> AddAsync(string name, string role, string hash, string by, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand(Insert);
        AddTo(command, name, role, hash, by, onlyFirst: false);
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
    }

    /// <summary>Lets the first person in.</summary>
    /// <returns>Whether there was nobody before.</returns>
    public async Task<bool> AddFirstAsync(string name, string role, string hash, CancellationToken stop = default)
    {
        await using var connection = await source.OpenConnectionAsync(stop).ConfigureAwait(false);
        await using var transaction = await connection.BeginTransactionAsync(stop).ConfigureAwait(false);
        await using (var alone = new NpgsqlCommand(Alone, connection, transaction)) { await alone.ExecuteNonQueryAsync(stop).ConfigureAwait(false); }
        await using var command = new NpgsqlCommand(Insert, connection, transaction);
        AddTo(command, name, role, hash, name.Trim(), onlyFirst: true);
        var added = await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
        await transaction.CommitAsync(stop).ConfigureAwait(false);
        return added;
    }

    /// <summary>Whether anybody was ever let in.</summary>
    public async Task<bool> AnyAsync(CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("select exists (select from access.people)");
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
    }

    /// <summary>The person of a name, disabled or not, or null.</summary>
    public async Task<Person?> FindAsync(string name, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand($"{Select} where p.who = $1");
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = WhoIs(name) });
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        return await reader.ReadAsync(stop).ConfigureAwait(false) ? Read(reader) : null;
    }

    /// <summary>Everybody who was ever let in, the first one first.</summary>
    public async Task<IReadOnlyList<Person>> ListAsync(CancellationToken stop = default)
    {
        await using var command = source.CreateCommand($"{Select} order by p.made_at, p.who");
        var people = new List<Person>();
        await using var reader = await command.ExecuteReaderAsync(stop).ConfigureAwait(false);
        while (await reader.ReadAsync(stop).ConfigureAwait(false)) { people.Add(Read(reader)); }
        return people;
    }

    /// <summary>Sets another password; sessions that began with an earlier one end.</summary>
    /// <returns>Whether there is such a person.</returns>
    public async Task<bool> SetPasswordAsync(string name, string hash, string by, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("""
            with person as (select who from access.people where who = $1),
                 password as (insert into access.passwords (who, hash, set_by) select who, $2, $3 from person)
            select exists (select from person)
            """);
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = WhoIs(name) });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = hash });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
    }

    /// <summary>Shuts somebody out for good, from their next request on; doing it again changes nothing.</summary>
    /// <returns>Whether there is such a person.</returns>
    public async Task<bool> DisableAsync(string name, string by, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("""
            with person as (select who from access.people where who = $1),
                 gone as (insert into access.departures (who, disabled_by) select who, $2 from person on conflict do nothing)
            select exists (select from person)
            """);
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = WhoIs(name) });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
    }

    private static void AddTo(NpgsqlCommand command, string name, string role, string hash, string by, bool onlyFirst)
    {
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = WhoIs(name) });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = name.Trim() });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = role });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = by });
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = hash });
        command.Parameters.Add(new NpgsqlParameter<bool> { TypedValue = onlyFirst });
    }

    private static Person Read(NpgsqlDataReader reader) => new(
        reader.GetString(0), reader.GetString(1), reader.GetFieldValue<Instant>(2), reader.GetString(3), reader.GetFieldValue<Instant>(4),
        reader.IsDBNull(5) ? null : reader.GetFieldValue<Instant>(5), reader.IsDBNull(6) ? null : reader.GetString(6))
    {
        Hash = reader.GetString(7), Password = reader.GetInt64(8),
    };
}
