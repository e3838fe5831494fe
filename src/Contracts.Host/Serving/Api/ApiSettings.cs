using Contracts.Host.Serving.SignIn;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Host.Serving.Api;

/// <summary>The limits of the API.</summary>
public sealed record ApiSettings
{
    /// <summary>How many requests a second one address may send on average.</summary>
    public int RequestsPerSecond { get; init; } = 100;

    /// <summary>How many it may send at once.</summary>
    public int Burst { get; init; } = 400;

    /// <summary>How long a request may take.</summary>
    public TimeSpan Longest { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>The same where the whole store is gone through: all accounts, a billing run, a close, a dossier.</summary>
    public TimeSpan LongestOfMany { get; init; } = TimeSpan.FromMinutes(30);

    /// <summary>How many bytes a body may have; one command keeps the limit of its line.</summary>
    public int LargestBody { get; init; } = 256 * 1024;

    /// <summary>Whether everything that reaches the port comes from a proxy, which tells who is behind it.</summary>
    public bool BehindProxy { get; init; }

    /// <summary>How much each role waives and credits alone, and a manager refunds; more takes a second person.</summary>
    public GivingLimits Giving { get; init; } = GivingLimits.Usual;

    /// <summary>When the jobs of the day run, by the clock of the shop; null where this host does not run them.</summary>
    public LocalTime? Clock { get; init; }

    /// <summary>Who signs the heads that a dossier needs, or null where nobody does.</summary>
    public ISigner? Signer { get; init; }
}
