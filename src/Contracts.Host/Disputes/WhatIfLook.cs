using System.Text;
using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.WhatIf;
using NodaTime;

namespace Contracts.Host.Disputes;

/// <summary>What would be, read from a store; nothing is recorded.</summary>
/// <param name="Answer">The account as it is beside the account as it would be.</param>
/// <param name="Corrections">What brings the real account there today; null where an earlier knowledge is asked about, which no command brings back.</param>
internal sealed record WhatIfLook(WhatIfAnswer Answer, Corrections? Corrections)
{
    /// <summary>Supposes what an object says (docs/what-if.md); exactly one of the answers is given.</summary>
    /// <param name="store">The store.</param>
    /// <param name="contract">The contract.</param>
    /// <param name="change">The object.</param>
    /// <param name="on">The day of the figures.</param>
    /// <param name="known">What is known.</param>
    /// <param name="isNow">Whether that is everything known now.</param>
    /// <param name="stop">Ends it.</param>
    /// <param name="by">Who would give the corrections, or null to leave that open.</param>
    /// <param name="reason">Why they would, or null for the change in trade words.</param>
    public static async Task<(WhatIfLook? Look, Refusal? Refusal)> OfAsync(
        ContractsStore store, string contract, ReadOnlyMemory<byte> change, LocalDate on, KnownAt known, bool isNow, CancellationToken stop, string? by = null,
        string? reason = null)
    {
        var (read, refusal) = WhatIfReader.Read(change, contract);
        if (read is null) { return (null, refusal); }
        if (await ComparedViews.ReadAsync(store, contract, on, known, stop).ConfigureAwait(false) is not { History.IsSigned: true } view)
        {
            return (null, ComparedViews.Unknown(contract));
        }

        (var answer, refusal) = WhatIfAnswer.Of(new WhatIfQuestion(view.History, view.Rates, on, known.At, Session.Zone), read);
        if (answer is null) { return (null, refusal); }
        return answer.Before is null && answer.After is null
            ? (null, ComparedViews.Unknown(contract))
            : (new WhatIfLook(answer, isNow ? Contracts.WhatIf.Corrections.Of(answer, by, reason) : null), null);
    }

    /// <summary>The answer as JSON, in the shape of docs/interface.md.</summary>
    public string Json() => AccountPrinter.Json(json => WhatIfJson.Write(json, Answer, Corrections));

    /// <summary>The corrections as a command file: one line each, in their order.</summary>
    public string CommandFile()
    {
        var text = new StringBuilder();
        foreach (var command in Corrections?.Commands ?? []) { text.Append(WhatIfJson.Line(command)).Append('\n'); }
        return text.ToString();
    }
}
