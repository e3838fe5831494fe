using System.Security.Cryptography;
using System.Text;
using Npgsql;

namespace Contracts.Store.Callers;

/// <summary>
/// Sessions of people. A session lives in its cookie; the store knows which were ended, and who is still let in. So signing out
/// ends a copied cookie too, and whoever is shut out is out at the next request.
/// </summary>
public sealed class Sessions
{
    private readonly NpgsqlDataSource source;

    internal Sessions(NpgsqlDataSource source) => this.source = source;

    /// <summary>Ends a session for good.</summary>
    public async Task EndAsync(string session, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("insert into access.ended_sessions (session) values ($1) on conflict do nothing");
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = DigestOf(session) });
        await command.ExecuteNonQueryAsync(stop).ConfigureAwait(false);
    }

    /// <summary>Whether a session was not ended, and where it is a person's own whether they are let in with the password it began with.</summary>
    /// <param name="session">The session.</param>
    /// <param name="name">The person, or null where somebody else answers for who it is.</param>
    /// <param name="password">The number of the password that it began with.</param>
    /// <param name="stop">Gives up.</param>
    public async Task<bool> StandsAsync(string session, string? name, long password, CancellationToken stop = default)
    {
        await using var command = source.CreateCommand("""
            select not exists (select from access.ended_sessions where session = $1)
               and ($2 is null or not exists (select from access.departures where who = $2)
                                  and (select max(password) from access.passwords where who = $2) = $3)
            """);
        command.Parameters.Add(new NpgsqlParameter<byte[]> { TypedValue = DigestOf(session) });
        command.Parameters.Add(new NpgsqlParameter
        {
            Value = name is null ? DBNull.Value : People.WhoIs(name), NpgsqlDbType = NpgsqlTypes.NpgsqlDbType.Bytea,
        });
        command.Parameters.Add(new NpgsqlParameter<long> { TypedValue = password });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is true;
    }

    private static byte[] DigestOf(string session) => SHA256.HashData(Encoding.UTF8.GetBytes(session));
}
