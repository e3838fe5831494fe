using System.ComponentModel;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.Net.Http.Headers;
using NodaTime;

namespace Contracts.Host.Serving.Api;

/// <summary>One account, and what lies behind its figures.</summary>
internal static class AccountEndpoints
{
    private const int TagDigits = 16;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.Account, AccountAsync);
        routes.MapDoor(Doors.History, HistoryAsync);
        routes.MapDoor(Doors.Stored, StoredAsync);
        routes.MapDoor(Doors.Totals, TotalsAsync);
        routes.MapDoor(Doors.Due, DueAsync);
        routes.MapDoor(Doors.Explain, ExplainEndpoints.ExplainAsync);
        routes.MapDoor(Doors.ExplainReport, ExplainEndpoints.ReportAsync).WithRequestTimeout(ApiHost.Many);
        routes.MapDoor(Doors.Compare, ExplainEndpoints.CompareAsync);
        StatementEndpoint.Map(routes);
        HouseholdEndpoint.Map(routes);
        WhatIfEndpoints.Map(routes);
        routes.MapDoor(Doors.Portfolio, PortfolioAsync).WithRequestTimeout(ApiHost.Many);
    }

    private static async Task<IResult> AccountAsync(
        HttpContext context, ContractsStore store,
        [Description(Words.Contract)] string contract, [Description(Words.On)] string? on, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, history, rates, refusal) = await Question.ReadOneAsync(store, contract, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (history is null || AccountFold.At(history, rates, question.On) is not { } state) { return Answers.Refused(Unknown(contract)); }
        var account = Account.Of(state, question.Known.At);
        var body = AccountPrinter.Json(json => AccountJson.Write(json, account));
        var isPinned = !string.IsNullOrEmpty(known);
        var tag = TagOf(isPinned ? body : AccountPrinter.Json(json => AccountJson.Write(json, account with { Known = default(Instant) })), history.Entries[^1].Sequence, isPinned);
        var headers = context.Response.GetTypedHeaders();
        headers.ETag = tag;
        headers.CacheControl = new CacheControlHeaderValue { Private = true, NoCache = true };
        var seen = context.Request.GetTypedHeaders().IfNoneMatch;
        return seen.Any(one => one.Equals(EntityTagHeaderValue.Any) || one.Compare(tag, useStrongComparison: false))
            ? Results.StatusCode(StatusCodes.Status304NotModified)
            : Answers.Json(body);
    }

    private static async Task<IResult> HistoryAsync(
        ContractsStore store, [Description(Words.Contract)] string contract, [Description(Words.Known)] string? known,
        [Description("Only events of a kind: correction, entry-error, bank-return, backdated, overtaken, approved, taken-over, deemed, or as stored.")] string? kind,
        CancellationToken stop)
    {
        if (EventKinds.Unfit(kind) is { } unfit) { return Answers.Refused(unfit); }
        var (question, refusal) = await Question.ReadAsync(store, null, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        var history = await store.Reader.HistoryAsync(contract, question.Known, stop);
        if (history is not { IsSigned: true }) { return Answers.Refused(NotSigned(contract)); }
        var rates = await store.Reader.RatesAsync(question.Known, stop);
        return Answers.Json(HistoryCommand.Json(EventKinds.Choose(HistoryLine.Of(history, rates), kind)));
    }

    private static async Task<IResult> StoredAsync(
        HttpContext context, ContractsStore store, [Description(Words.Contract)] string contract, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, null, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        return await store.Reader.HistoryAsync(contract, question.Known, stop) is { IsSigned: true } history
            ? Answers.Json(StoredEvents.Json(history, Doors.Papers.Roles.Contains(context.User.Role())))
            : Answers.Refused(NotSigned(contract));
    }

    private static async Task<IResult> TotalsAsync(
        ContractsStore store, [Description(Words.Contract)] string contract, [Description(Words.On)] string? on, [Description(Words.Known)] string? known,
        [Description("One total only, such as paid.rent.")] string? figure, CancellationToken stop)
    {
        var (question, history, rates, refusal) = await Question.ReadOneAsync(store, contract, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (history is null || AccountFold.At(history, rates, question.On) is not { } state) { return Answers.Refused(Unknown(contract)); }
        var all = TracedTotal.Of(state).Where(total => string.IsNullOrEmpty(figure) || total.Figure == figure).ToList();
        return all.Count == 0
            ? Answers.Refused(new Refusal(RefusalCode.FieldInvalid, $"'figure' is one of {string.Join(", ", TracedTotal.Of(state).Select(total => total.Figure))}.", "figure"))
            : Results.Text(string.Concat(all.Select(total => TotalsCommand.Json(total) + "\n")), all.Count == 1 ? "application/json" : "application/jsonl");
    }

    private static async Task<IResult> DueAsync(
        ContractsStore store, [Description(Words.Contract)] string contract, [Description(Words.On)] string? on, [Description(Words.Known)] string? known,
        CancellationToken stop)
    {
        var (question, history, rates, refusal) = await Question.ReadOneAsync(store, contract, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        return history is null || AccountFold.At(history, rates, question.On) is not { } state
            ? Answers.Refused(Unknown(contract))
            : Results.Bytes(DueCalendar.Of(state, question.Known.At, await store.Seals.OriginAsync(stop)), DueCalendar.MediaType, $"{contract}.ics");
    }

    private static async Task<IResult> PortfolioAsync(
        ContractsStore store, [Description(Words.On)] string? on, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        var portfolio = await PortfolioCommand.SumAsync(store, question.On, question.Known, stop);
        return Answers.Json(AccountPrinter.Json(json => AccountJson.Write(json, portfolio)));
    }

    /// <summary>
    /// The contract's last event, and a digest of the figures, which a tax rate can move without any event of the contract. Asked
    /// as known now, each answer states another moment: the same figures are the same to read, and not the same bytes.
    /// </summary>
    private static EntityTagHeaderValue TagOf(string figures, long last, bool pinned)
    {
        var digest = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(figures)))[..TagDigits];
        return new EntityTagHeaderValue(string.Create(CultureInfo.InvariantCulture, $"\"{last}.{digest}\""), isWeak: !pinned);
    }

    /// <summary>The words of the command line.</summary>
    internal static Refusal Unknown(string contract) =>
        new(RefusalCode.ContractUnknown, $"No contract {contract} was signed by that day, as known at that moment.", "contract");

    internal static Refusal NotSigned(string contract) => new(RefusalCode.ContractUnknown, $"No contract {contract} was signed.", "contract");
}
