namespace Contracts.Store;

/// <summary>The roles of PostgreSQL that a store's server has. They belong to the server, not to one database of it.</summary>
public static class DatabaseRoles
{
    /// <summary>Owns schemas and tables and changes them. Nobody logs in as it.</summary>
    public const string Owner = "contracts_owner";

    /// <summary>All everyday work: it can add history and never change it.</summary>
    public const string App = "contracts_app";

    /// <summary>Reads the events and adds seals.</summary>
    public const string Sealer = "contracts_sealer";

    /// <summary>Reads, for people and reporting programs.</summary>
    public const string Read = "contracts_read";

    /// <summary>The vault of personal data and nothing else.</summary>
    public const string Personal = "contracts_pii";

    /// <summary>Every role, the owner first.</summary>
    public static IReadOnlyList<string> All { get; } = [Owner, App, Sealer, Read, Personal];
}
