using System.Globalization;
using Npgsql;

namespace Contracts.Store.Embedded;

/// <summary>The two ways into a running server, and the role and database that must be there.</summary>
internal sealed record Access(string Role, string Superuser)
{
    private const string Name = "contracts";

    public static async Task<Access> ForAsync(ServerHome home, Postmaster server, CancellationToken cancellation)
    {
        var role = await File.ReadAllTextAsync(home.RolePassword, cancellation).ConfigureAwait(false);
        var superuser = await File.ReadAllTextAsync(home.SuperuserPassword, cancellation).ConfigureAwait(false);
        return new Access(Describe(server, Name, role.Trim()), Describe(server, Cluster.Superuser, superuser.Trim()));
    }

    /// <summary>Whether the role can work in its database.</summary>
    public async Task<bool> AnswersAsync(CancellationToken cancellation)
    {
        try
        {
            await using var connection = await OpenAsync(Role, null, cancellation).ConfigureAwait(false);
            return true;
        }
        catch (NpgsqlException)
        {
            return false;
        }
    }

    /// <summary>Makes the role and its database where they are missing; harmless when they are there.</summary>
    public async Task PrepareAsync(CancellationToken cancellation)
    {
        var password = new NpgsqlConnectionStringBuilder(Role).Password;
        await using var connection = await OpenAsync(Superuser, "postgres", cancellation).ConfigureAwait(false);
        await using var role = new NpgsqlCommand("select count(*) from pg_roles where rolname = 'contracts'", connection);
        var verb = Convert.ToInt64(await role.ExecuteScalarAsync(cancellation).ConfigureAwait(false), CultureInfo.InvariantCulture) == 0
            ? "create" : "alter";
        await RunAsync(connection, $"{verb} role {Name} login nosuperuser password '{password}'", cancellation).ConfigureAwait(false);
        await RunAsync(connection, $"alter role {Name} set timezone = 'UTC'", cancellation).ConfigureAwait(false);
        await using var database = new NpgsqlCommand("select count(*) from pg_database where datname = 'contracts'", connection);
        if (Convert.ToInt64(await database.ExecuteScalarAsync(cancellation).ConfigureAwait(false), CultureInfo.InvariantCulture) == 0)
        {
            await RunAsync(connection, $"create database {Name} owner {Name}", cancellation).ConfigureAwait(false);
        }
    }

    /// <summary>Drops the connections kept open for later use, so that none is found dead.</summary>
    public void Forget()
    {
        foreach (var way in new[] { Role, Superuser })
        {
            using var connection = new NpgsqlConnection(way);
            NpgsqlConnection.ClearPool(connection);
        }
    }

    private static async Task RunAsync(NpgsqlConnection connection, string sql, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync(cancellation).ConfigureAwait(false);
    }

    private static async Task<NpgsqlConnection> OpenAsync(string way, string? database, CancellationToken cancellation)
    {
        var builder = new NpgsqlConnectionStringBuilder(way) { Pooling = false, Timeout = 5 };
        builder.Database = database ?? builder.Database;
        var connection = new NpgsqlConnection(builder.ConnectionString);
        try
        {
            await connection.OpenAsync(cancellation).ConfigureAwait(false);
            return connection;
        }
        catch
        {
            await connection.DisposeAsync().ConfigureAwait(false);
            throw;
        }
    }

    private static string Describe(Postmaster server, string user, string password) =>
        new NpgsqlConnectionStringBuilder
        {
            Host = server.Host,
            Port = server.Port,
            Database = Name,
            Username = user,
            Password = password,
            Timezone = "UTC",
            // Nothing leaves the machine, and the server has no certificate.
            SslMode = SslMode.Disable,
        }.ConnectionString;
}
