namespace Contracts.Store.Fleet;

/// <summary>The streams of units; no contract id has a colon.</summary>
public static class UnitStreams
{
    /// <summary>What every such stream begins with.</summary>
    internal const string Prefix = "unit:";

    /// <summary>The stream of a unit.</summary>
    public static string Of(string serial) => Prefix + serial;
}
