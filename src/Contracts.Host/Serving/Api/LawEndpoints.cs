using System.ComponentModel;
using System.Globalization;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Compliance;
using Contracts.Host.Serving.SignIn;
using Contracts.Law;
using Contracts.Quotes;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Api;

/// <summary>The law that is loaded, and what an offer costs under it. Not legal advice: rent-to-own rules vary by state.</summary>
internal static class LawEndpoints
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.LawList, ListAsync);
        routes.MapDoor(Doors.Law, ShowAsync);
        routes.MapDoor(Doors.Quotes, QuoteAsync);
    }

    private static async Task<IResult> ListAsync(ContractsStore store, CancellationToken stop)
    {
        var book = (await store.Reader.RatesAsync(Instant.MaxValue, stop)).Law;
        return Answers.Json(LawPrinter.Json([.. LawBook.Jurisdictions.SelectMany(code => LawCommand.Known(book, code))]));
    }

    private static async Task<IResult> ShowAsync(
        ContractsStore store, [Description("A state's postal code such as NY, or US-REGM.")] string code,
        [Description("An earlier version of the pack; the last one when left out.")] string? version, CancellationToken stop)
    {
        int? wanted = null;
        if (version is { Length: > 0 })
        {
            if (!int.TryParse(version, NumberStyles.None, CultureInfo.InvariantCulture, out var number))
            {
                return Answers.Refused(new Refusal(RefusalCode.FieldInvalid, "'version' is a number.", "version"));
            }

            wanted = number;
        }

        var book = (await store.Reader.RatesAsync(Instant.MaxValue, stop)).Law;
        return LawCommand.Known(book, code).LastOrDefault(pack => wanted is null || pack.Version == wanted) is { } found
            ? Answers.Json(LawPrinter.Json(found))
            : Answers.Refused(new Refusal(RefusalCode.StateUnknown, $"No law pack is known for '{code}'.", "jurisdiction"));
    }

    private static async Task<IResult> QuoteAsync(
        HttpContext context, ContractsStore store, ApiSettings settings, [Description(Words.KnownMoment)] string? known, CancellationToken stop)
    {
        var (body, problem) = await Bodies.ReadAsync(context.Request, settings, stop);
        if (problem is not null) { return problem.Result(); }
        var (question, refusal) = await Question.ReadAsync(store, null, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        var (offer, unreadable) = QuoteReader.Read(body);
        if (offer is null) { return Answers.Refused(unreadable!); }
        var rates = await store.Reader.RatesAsync(question.Known, stop);
        return QuoteMaker.Fault(offer, rates) is { } fault
            ? Answers.Refused(fault)
            : Results.Bytes(QuoteJson.Bytes(QuoteMaker.Make(offer, rates)), "application/json");
    }
}
