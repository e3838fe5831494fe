using System.ComponentModel;
using System.Globalization;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime.Text;

namespace Contracts.Host.Serving.Api;

/// <summary>
/// All accounts of a view: as pages of a JSON list that name the next one (RFC 8288), or in one stream as JSON Lines or CSV. The
/// first page pins what is known, so that whoever follows the links sees each account once, whatever is recorded meanwhile.
/// </summary>
internal static class AccountLists
{
    public const int LargestPage = 200;
    private const int UsualPage = 100;
    private const int FlushAt = 1 << 16;

    public static void Map(IEndpointRouteBuilder routes) => routes.MapDoor(Doors.Accounts, AccountsAsync).WithRequestTimeout(ApiHost.Many);

    private static async Task<IResult> AccountsAsync(
        HttpContext context, ContractsStore store, [Description(Words.On)] string? on, [Description(Words.Known)] string? known,
        [Description("The id after which the page begins; links of pages have it.")] string? after,
        [Description("How many accounts a page has, 1 to 200; 100 when left out.")] string? limit,
        [Description("Only accounts of this standing.")] string? status,
        [Description("Only accounts whose price to buy early is by this basis: terms, none, or a section.")] string? basis,
        [Description("Only accounts in this state.")] string? state, [Description("Only accounts in this tax jurisdiction.")] string? jurisdiction,
        [Description("Only accounts under this law pack, such as NY.1, or none.")] string? law,
        [Description("Only accounts that met this: late-fee, late-fee-reversed, a word for events, or a stored name of one. Given several times, all.")] string[]? met,
        [Description("moved or same: whether what was recorded after the moment changes a figure of the view.")] string? later,
        [Description("json for pages, jsonl or csv for all accounts in one stream; an Accept header says the same.")] string? format,
        CancellationToken stop)
    {
        var size = UsualPage;
        if (limit is { Length: > 0 } && (!int.TryParse(limit, NumberStyles.None, CultureInfo.InvariantCulture, out size) || size is < 1 or > LargestPage))
        {
            return Answers.Refused(new Refusal(RefusalCode.FieldInvalid, $"'limit' is a number from 1 to {LargestPage}.", "limit"));
        }

        if (FormatOf(context.Request, format) is not { } wanted) { return Answers.Refused(new Refusal(RefusalCode.FieldInvalid, "'format' is json, jsonl or csv.", "format")); }
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        var (filter, unfit) = AccountFilter.Read(
        [
            (AccountMarks.Status, status), (AccountMarks.Basis, basis), (AccountMarks.State, state), (AccountMarks.Jurisdiction, jurisdiction), (AccountMarks.Law, law),
            .. (met ?? []).Select(one => (AccountMarks.Met, (string?)one)), (AccountMarks.Later, later),
        ]);
        if (filter is null) { return Answers.Refused(unfit!); }
        var (sieve, why) = await AccountSieve.ForAsync(store, filter, question.On, question.Known, stop);
        if (sieve is null) { return Answers.Refused(why!); }
        return wanted == OutputFormat.Json
            ? await PageAsync(context, store, question, (filter, sieve), after ?? "", size, stop)
            : Results.Stream(body => StreamAsync(store, sieve, wanted, body, stop), wanted == OutputFormat.Csv ? "text/csv; charset=utf-8" : "application/jsonl");
    }

    private static OutputFormat? FormatOf(HttpRequest request, string? format)
    {
        if (format is { Length: > 0 }) { return format == "table" ? null : CommonOptions.ParseFormat(format); }
        var accepted = request.GetTypedHeaders().Accept.Select(one => one.MediaType.Value);
        foreach (var type in accepted)
        {
            switch (type)
            {
                case "application/jsonl" or "application/x-ndjson": return OutputFormat.Jsonl;
                case "text/csv": return OutputFormat.Csv;
                case "application/json" or "application/*" or "*/*": return OutputFormat.Json;
                default: break;
            }
        }

        return OutputFormat.Json;
    }

    private static async Task<IResult> PageAsync(
        HttpContext context, ContractsStore store, Question question, (AccountFilter Filter, AccountSieve Sieve) asked, string after, int size, CancellationToken stop)
    {
        var page = new List<Account>();
        // One more than the page shows whether there is a next one.
        while (page.Count <= size)
        {
            var (histories, last) = await store.Reader.NextAsync(asked.Sieve.Reads, after, size + 1, stop);
            if (last is null) { break; }
            after = last;
            page.AddRange(histories.Select(asked.Sieve.Of).OfType<Account>());
        }

        var more = page.Count > size;
        if (more) { page.RemoveRange(size, page.Count - size); }
        var at = $"{context.Request.PathBase}{context.Request.Path}?on={LocalDatePattern.Iso.Format(question.On)}&known={KnownText(question.Known)}"
            + $"&limit={size}{asked.Filter.Query}";
        context.Response.Headers.Append("Link", $"<{at}>; rel=\"first\"");
        if (more) { context.Response.Headers.Append("Link", $"<{at}&after={Uri.EscapeDataString(page[^1].Contract)}>; rel=\"next\""); }
        return Results.Bytes(AccountLines.Some(page), "application/json");
    }

    internal static string KnownText(KnownAt known) => Uri.EscapeDataString(
        known.Size is { } size ? string.Create(CultureInfo.InvariantCulture, $"size:{size}") : InstantPattern.ExtendedIso.Format(known.At));

    private static async Task StreamAsync(ContractsStore store, AccountSieve sieve, OutputFormat format, Stream body, CancellationToken stop)
    {
        using var waiting = new MemoryStream();
        await foreach (var line in AccountLines.AllAsync(store, sieve, format, stop))
        {
            waiting.Write(line.Span);
            if (waiting.Length < FlushAt) { continue; }
            waiting.Position = 0;
            await waiting.CopyToAsync(body, stop);
            waiting.SetLength(0);
        }

        waiting.Position = 0;
        await waiting.CopyToAsync(body, stop);
    }
}
