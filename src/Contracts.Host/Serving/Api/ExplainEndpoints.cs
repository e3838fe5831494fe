using System.ComponentModel;
using Contracts.Explain;
using Contracts.Host.Reconstruct;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>Why a figure is what it is, and why two views differ.</summary>
internal static class ExplainEndpoints
{
    public static async Task<IResult> ExplainAsync(
        ContractsStore store, [Description(Words.Contract)] string contract,
        [Description("A figure of the account by its path, such as equity, earlyPurchase.payoff or openItems.installment:2026-10-05.")] string figure,
        [Description(Words.On)] string? on, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (await ComparedViews.ReadAsync(store, contract, question.On, question.Known, stop) is not { } view
            || Explanation.At(view.History, view.Rates, view.On) is not { } explanation)
        {
            return Answers.Refused(AccountEndpoints.Unknown(contract));
        }

        // A key in the name of an open item may have a stroke, which a path carries as %2F.
        var name = figure.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);
        return explanation.Of(name) is { } tree ? Answers.Json(ExplainCommand.Json(tree)) : Answers.Refused(explanation.Unknown(name));
    }

    public static async Task<IResult> CompareAsync(
        ContractsStore store, [Description(Words.Contract)] string contract, [Description(Words.On)] string? on, [Description(Words.Known)] string? known,
        [Description("The day of the second view; today when left out.")] string? withOn,
        [Description("The knowledge of the second view, as the first view's; now when left out.")] string? withKnown, CancellationToken stop)
    {
        var (from, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        (var to, refusal) = await Question.ReadAsync(store, withOn, withKnown, stop, "withOn", "withKnown");
        if (refusal is not null) { return Answers.Refused(refusal); }
        return await ComparedViews.CompareAsync(store, contract, (from.On, from.Known), (to.On, to.Known), stop) is { } comparison
            ? Answers.Json(CompareCommand.Json(comparison))
            : Answers.Refused(AccountEndpoints.Unknown(contract));
    }
}
