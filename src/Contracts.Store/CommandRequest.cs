using Contracts.Agreements;
using NodaTime;

namespace Contracts.Store;

/// <summary>A command to be applied.</summary>
/// <param name="Command">The command.</param>
/// <param name="At">The recording moment it asks for under a simulated clock.</param>
/// <param name="Version">
/// The number of the contract's last event that whoever sends it has seen. Where another has been recorded since, the command is
/// refused; without it, whatever was recorded is taken as it is.
/// </param>
public sealed record CommandRequest(Command Command, Instant? At = null, long? Version = null);

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
