using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Proposals;
using Contracts.Store;
using Contracts.Store.Papers;
using Contracts.Store.Proposals;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>A figure of one day: as we said it, as we knew it, as it is.</summary>
public sealed record ThreeSides(string Figure, string Said, string Knew, string IsSo);

/// <summary>What is in question of a contract.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="On">The day in question.</param>
/// <param name="Known">The moment up to which "what we knew" looks.</param>
/// <param name="KnownText">The same as it was asked for.</param>
/// <param name="Paper">The last paper that was given out by then, which is what we said; null where there was none.</param>
/// <param name="Papers">All papers, to choose another.</param>
/// <param name="Figures">Every figure of which the three are not the same.</param>
/// <param name="Same">How many are.</param>
/// <param name="Learned">What was recorded after that moment about the day and before.</param>
/// <param name="Proposals">What was proposed about the contract.</param>
/// <param name="Corrections">What whoever looks may propose or do.</param>
/// <param name="MayTakeDossier">Whether they may take the dossier along.</param>
/// <param name="Disputes">The disputes on record.</param>
public sealed record DisputeModel(
    string Contract, LocalDate On, Instant Known, string KnownText, IssuedPaper? Paper, IReadOnlyList<IssuedPaper> Papers, IReadOnlyList<ThreeSides> Figures, int Same,
    IReadOnlyList<HistoryLine> Learned, IReadOnlyList<RecordedProposal> Proposals, IReadOnlyList<Deed> Corrections, bool MayTakeDossier,
    IReadOnlyList<Contracts.Host.Disputes.SeenDispute> Disputes);

/// <summary>The desk for a dispute: what we said, what we knew, what is so, and what would put it right.</summary>
internal static class DisputePages
{
    private const string Route = "/account/{contract}/dispute";

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage(Route, ShowAsync);
        // The API's own dossier, for who is signed in: written down like every read of an account.
        routes.MapPost($"{Route}/dossier", PaperEndpoints.DossierAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, Doors.Dossier.Roles))
            .WithMetadata(PageHost.All.First(one => one.Route == Route)).AddEndpointFilter(PageHost.RecordAsync).WithRequestTimeout(ApiHost.Many).ExcludeFromDescription();
    }

    private static async Task<IResult> ShowAsync(
        HttpContext context, ContractsStore store, string contract, string? on, string? known, string? paper, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        var now = await store.Reader.NowAsync(stop);
        var ratesNow = await store.Reader.RatesAsync(now, stop);
        if (await store.Reader.HistoryAsync(contract, now, stop) is not { IsSigned: true } best || AccountFold.At(best, ratesNow, question.On) is not { } bestState)
        {
            return PageHost.Refused(context, AccountEndpoints.Unknown(contract));
        }

        // Where no moment is named, what we knew is what was known at the end of the day in question.
        var asked = string.IsNullOrEmpty(known) ? (await Question.ReadAsync(store, null, Say.Iso(question.On), stop)).Question.Known : question.Known;
        var then = await store.Reader.HistoryAsync(contract, asked, stop);
        var knew = then is null || AccountFold.At(then, await store.Reader.RatesAsync(asked, stop), question.On) is not { } knewState ? null : Account.Of(knewState, asked.At);
        var papers = PaperArchive.Of(best).ToList();
        var chosen = papers.LastOrDefault(one => string.IsNullOrEmpty(paper) ? one.IssuedAt <= asked.At : one.Id == paper);
        var said = chosen is null ? null : await SaidAsync(store, best, chosen, stop);
        var figures = Sides(said, knew, Account.Of(bestState, now));
        var seen = then?.Entries.Select(entry => entry.Sequence).ToHashSet() ?? [];
        return PageHost.Of<DisputePage>(context, new DisputeModel(
            contract, question.On, asked.At, string.IsNullOrEmpty(known) ? Say.Iso(question.On) : known, chosen, papers,
            [.. figures.Where(one => one.Knew != one.IsSo || (said is not null && one.Said != one.IsSo))],
            figures.Count(one => one.Knew == one.IsSo && (said is null || one.Said == one.IsSo)),
            [.. HistoryLine.Of(best, ratesNow).Where(line => !seen.Contains(line.Entry.Sequence) && line.Entry.Event.On <= question.On && !line.Entry.Event.IsNote)],
            [.. (await store.Proposals.ListAsync(now, stop)).Where(one => one.Contract == contract).Reverse()],
            [.. Deeds.Corrections.Where(deed => deed.Roles.Union(Deed.Proposers).Contains(context.User.Role()))], Doors.Dossier.Roles.Contains(context.User.Role()),
            Contracts.Host.Disputes.DisputesLook.Of(best, ratesNow, (await Question.ReadAsync(store, null, null, stop)).Question.On)));
    }

    /// <summary>The account of which a paper speaks: on its own day, as known when it was made.</summary>
    private static async Task<Account?> SaidAsync(ContractsStore store, ContractHistory best, IssuedPaper paper, CancellationToken stop)
    {
        var through = paper.Event.ThroughSequence;
        var entries = best.Entries.Where(entry => entry.Sequence <= through);
        var history = entries.Aggregate(ContractHistory.Unsigned(best.Contract), (lived, entry) => lived.Evolve(entry));
        return AccountFold.At(history, await store.Reader.RatesThroughAsync(through, stop), paper.Event.On) is { } state ? Account.Of(state, paper.Event.Known) : null;
    }

    private static List<ThreeSides> Sides(Account? said, Account? knew, Account isSo)
    {
        var first = said is null ? [] : Figures.Of(said).ToDictionary(pair => pair.Key, pair => pair.Value, StringComparer.Ordinal);
        var second = knew is null ? [] : Figures.Of(knew).ToDictionary(pair => pair.Key, pair => pair.Value, StringComparer.Ordinal);
        return [.. Figures.Of(isSo).Where(pair => pair.Key is not ("events" or "lastSequence"))
            .Select(pair => new ThreeSides(pair.Key, first.GetValueOrDefault(pair.Key) ?? "", second.GetValueOrDefault(pair.Key) ?? "", pair.Value))];
    }
}
