using Contracts.Agreements;
using NodaTime;

namespace Contracts.WhatIf;

/// <summary>What is supposed to be otherwise in the history of one contract. Nothing of it is ever recorded.</summary>
public abstract record WhatIfChange
{
    private WhatIfChange() { }

    /// <summary>One more fact: the command is decided as if it had been recorded at a moment.</summary>
    /// <param name="Command">The command.</param>
    /// <param name="At">The moment; null is the last of all, which is what recording it now would do.</param>
    public sealed record Added(Command.OnContract Command, Instant? At) : WhatIfChange;

    /// <summary>One fact less.</summary>
    /// <param name="Fact">The key of the command that brought it.</param>
    public sealed record Removed(string Fact) : WhatIfChange;

    /// <summary>
    /// One fact otherwise: of another day, amount, rate or terms. It is decided again at its own place in the order of recording, on what was
    /// recorded before it.
    /// </summary>
    /// <param name="Fact">The key of the command that brought it.</param>
    /// <param name="With">A JSON object with the fields of its command that are otherwise; an object in it may name only those of its own.</param>
    public sealed record Changed(string Fact, string With) : WhatIfChange;

    /// <summary>The signing under another law pack.</summary>
    /// <param name="Pack">Jurisdiction and version, such as <c>NY.1</c>.</param>
    public sealed record UnderLaw(string Pack) : WhatIfChange;
}
