using System.Globalization;
using Contracts.Store.Setup;
using Npgsql;

namespace Contracts.Store.Embedded;

/// <summary>The ways into a running server, and the roles and the database that must be there.</summary>
/// <param name="Roles">The connection string of each role that logs in, by its name.</param>
/// <param name="Superuser">For setting up only.</param>
internal sealed record Access(IReadOnlyDictionary<string, string> Roles, string Superuser)
{
    private const string Name = "contracts";

    /// <summary>The role of everyday work.</summary>
    public string Role => Roles[DatabaseRoles.App];

    public static async Task<Access> ForAsync(ServerHome home, Postmaster server, CancellationToken cancellation)
    {
        var roles = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var (role, file) in home.RolePasswords)
        {
            var password = await File.ReadAllTextAsync(file, cancellation).ConfigureAwait(false);
            roles[role] = Describe(server, role, password.Trim());
        }

        var superuser = await File.ReadAllTextAsync(home.SuperuserPassword, cancellation).ConfigureAwait(false);
        return new Access(roles, Describe(server, Cluster.Superuser, superuser.Trim()));
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

    /// <summary>Makes the roles and the database where they are missing; harmless when they are there.</summary>
    public async Task PrepareAsync(CancellationToken cancellation)
    {
        await using var connection = await OpenAsync(Superuser, "postgres", cancellation).ConfigureAwait(false);
        await RunAsync(connection, PrivilegeSql.Roles, cancellation).ConfigureAwait(false);
        foreach (var (role, way) in Roles)
        {
            var password = new NpgsqlConnectionStringBuilder(way).Password;
            await RunAsync(connection, $"alter role {role} login password '{password}'", cancellation).ConfigureAwait(false);
        }

        // Servers from before there were roles have one that owns everything; its tables go to the owner at the next upgrade.
        if (await CountAsync(connection, "select count(*) from pg_roles where rolname = 'contracts' and rolcanlogin", cancellation).ConfigureAwait(false) > 0)
        {
            await RunAsync(connection, $"alter role {Name} nologin", cancellation).ConfigureAwait(false);
        }

        if (await CountAsync(connection, "select count(*) from pg_database where datname = 'contracts'", cancellation).ConfigureAwait(false) == 0)
        {
            await RunAsync(connection, $"create database {Name}", cancellation).ConfigureAwait(false);
        }
    }

    /// <summary>Drops the connections kept open for later use, so that none is found dead.</summary>
    public void Forget()
    {
        foreach (var way in Roles.Values.Append(Superuser))
        {
            using var connection = new NpgsqlConnection(way);
            NpgsqlConnection.ClearPool(connection);
        }
    }

    private static async Task<long> CountAsync(NpgsqlConnection connection, string sql, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        return Convert.ToInt64(await command.ExecuteScalarAsync(cancellation).ConfigureAwait(false), CultureInfo.InvariantCulture);
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
