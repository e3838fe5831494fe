using Contracts.Agreements;
using NodaTime;

namespace Contracts.Store;

/// <summary>A command to be applied, with the recording moment it asks for under a simulated clock.</summary>
public sealed record CommandRequest(Command Command, Instant? At = null);

/// <summary>What became of a command.</summary>
public abstract record CommandResult
{
    private CommandResult() { }

    /// <summary>It happened now.</summary>
    public sealed record Applied(Instant RecordedAt, int Events) : CommandResult;

    /// <summary>A command with this key was applied before: this is what it did then, and nothing was changed now.</summary>
    public sealed record Already(Instant RecordedAt, int Events) : CommandResult;

    /// <summary>A rule stood against it; nothing was changed.</summary>
    public sealed record Refused(Refusal Refusal) : CommandResult;
}
