using Contracts.Agreements;
using NodaTime;

namespace Contracts.Store.Writing;

/// <summary>An event about to be recorded.</summary>
internal sealed record NewEvent(string Stream, object Data, long Sequence, Instant At, CommandOrigin Origin, string? Cause);

/// <summary>A command key about to be recorded with what its command did.</summary>
internal sealed record NewKey(string Key, string? Contract, Instant At, int Events);
