using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>A figure: the events that make it where it is a total, and the tree of rules that makes it.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="On">The day.</param>
/// <param name="Known">What is known.</param>
/// <param name="Query">The two dates as the address has them.</param>
/// <param name="Tree">How the rules make it.</param>
/// <param name="Total">The events that make it, where it is a total.</param>
/// <param name="Others">Every other figure there is to ask about.</param>
public sealed record WhyModel(
    string Contract, LocalDate On, Instant Known, string Query, ExplainNode Tree, TracedTotal? Total, IReadOnlyList<string> Others);

/// <summary>Two views as they were asked for, and what made them differ.</summary>
public sealed record CompareModel(
    string Contract, ComparedView From, ComparedView To, (string Known, string WithKnown) Asked, string Query,
    IReadOnlyList<FigureDifference> Figures, IReadOnlyList<WordDifference> Words);

/// <summary>The pages that give reasons: why a figure is what it is, and why two views differ.</summary>
internal static class ReasonPages
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/account/{contract}/why/{*figure}", WhyAsync);
        routes.MapPage("/account/{contract}/compare", CompareAsync);
    }

    private static async Task<IResult> WhyAsync(
        HttpContext context, ContractsStore store, string contract, string figure, string? on, string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        if (await ComparedViews.ReadAsync(store, contract, question.On, question.Known, stop) is not { } view
            || Explanation.At(view.History, view.Rates, view.On) is not { } explanation || AccountFold.At(view.History, view.Rates, view.On) is not { } state)
        {
            return PageHost.Refused(context, AccountEndpoints.Unknown(contract));
        }

        var name = figure.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);
        return explanation.Of(name) is { } tree
            ? PageHost.Of<WhyPage>(context, new WhyModel(
                contract, question.On, question.Known.At, context.Request.QueryString.Value ?? "", tree,
                TracedTotal.Of(state).FirstOrDefault(total => total.Figure == name), explanation.Figures))
            : PageHost.Refused(context, explanation.Unknown(name));
    }

    private static async Task<IResult> CompareAsync(
        HttpContext context, ContractsStore store, string contract, string? on, string? known, string? withOn, string? withKnown, CancellationToken stop)
    {
        var (from, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        (var to, refusal) = await Question.ReadAsync(store, withOn, withKnown, stop, "withOn", "withKnown");
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        return await ComparedViews.CompareAsync(store, contract, (from.On, from.Known), (to.On, to.Known), stop) is { } found
            ? PageHost.Of<ComparePage>(context, new CompareModel(
                contract, found.From, found.To, (known ?? "", withKnown ?? ""), context.Request.QueryString.Value ?? "", found.Figures, found.Words))
            : PageHost.Refused(context, AccountEndpoints.Unknown(contract));
    }
}
