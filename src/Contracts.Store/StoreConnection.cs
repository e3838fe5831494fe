using Npgsql;

namespace Contracts.Store;

/// <summary>The ways into one database: for everyday work, and where there is one for setting up and upgrading its tables.</summary>
/// <param name="Everyday">The connection string that all work goes through; best that of <see cref="DatabaseRoles.App"/>.</param>
/// <param name="Owner">Used over a connection of its own, only when the tables are made or changed. Without it the everyday string is.</param>
/// <param name="ChecksumsRequired">Whether a server that keeps no checksums of its pages is refused.</param>
public sealed record StoreConnection(string Everyday, string? Owner = null, bool ChecksumsRequired = true)
{
    /// <summary>The string of <see cref="DatabaseRoles.Sealer"/>, where somebody gave it.</summary>
    public string? Sealer { get; init; }

    /// <summary>The string of <see cref="DatabaseRoles.Personal"/>, where somebody gave it.</summary>
    public string? Personal { get; init; }

    /// <summary>The same ways into another database of the same server.</summary>
    public StoreConnection In(string database) => this with
    {
        Everyday = Named(Everyday, database),
        Owner = Owner is null ? null : Named(Owner, database),
        Sealer = Sealer is null ? null : Named(Sealer, database),
        Personal = Personal is null ? null : Named(Personal, database),
    };

    /// <summary>Says which server, and no password.</summary>
    public override string ToString()
    {
        var text = new NpgsqlConnectionStringBuilder(Everyday);
        return $"{text.Host}:{text.Port}/{text.Database} as {text.Username}";
    }

    private static string Named(string text, string database) => new NpgsqlConnectionStringBuilder(text) { Database = database }.ConnectionString;
}
