using Contracts.Agreements;
using Contracts.Host.Bank;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Contracts.Store.Bank;
using Microsoft.AspNetCore.Mvc;
using NodaTime;
using Wolverine;

namespace Contracts.Host.Serving.Pages;

/// <summary>Money files and what waits of them.</summary>
/// <param name="Files">The files, the last first.</param>
/// <param name="Waiting">Lines that wait, the oldest first.</param>
/// <param name="Decided">Lines that were decided on, the last first.</param>
/// <param name="MayDecide">Whether who looks may send files and decide.</param>
/// <param name="Outcome">What became of the file that was just sent.</param>
/// <param name="Refusal">Why it, or a decision, was refused.</param>
/// <param name="Entry">The line whose decision was refused.</param>
public sealed record MoneyFilesModel(
    IReadOnlyList<RecordedFile> Files, IReadOnlyList<RecordedEntry> Waiting, IReadOnlyList<RecordedEntry> Decided, bool MayDecide,
    MoneyFileOutcome? Outcome = null, Refusal? Refusal = null, string? Entry = null);

/// <summary>The page on which finance sends the bank's files and decides on the lines that are not clear.</summary>
internal static class MoneyFilePages
{
    private const string Route = "/money-files";
    private const int Shown = 100;
    private const long LargestFile = 16 << 20;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage(Route, ShowAsync);
        var door = PageHost.All.First(one => one.Route == Route);
        routes.MapPost(Route, ActAsync).RequireAuthorization(policy => policy.RequireClaim(Roles.Claim, [.. Doors.MoneyFileRead.Roles]))
            .WithMetadata(door, new RequestSizeLimitAttribute(MoneyFileEndpoints.LargestRequest)).WithRequestTimeout(ApiHost.Many).ExcludeFromDescription();
    }

    private static async Task<IResult> ShowAsync(HttpContext context, ContractsStore store, CancellationToken stop) =>
        PageHost.Of<MoneyFilesPage>(context, await LookAsync(context, store, stop));

    private static async Task<IResult> ActAsync(HttpContext context, ContractsStore store, IMessageBus bus, CancellationToken stop)
    {
        var form = await context.Request.ReadFormAsync(stop);
        var given = FormLine.Given(form);
        if (given.GetValueOrDefault("what") == "read") { return await ReadAsync(context, store, form, stop); }
        var entry = given.GetValueOrDefault("entry") ?? "";
        if (await store.Bank.FindAsync(entry, stop) is not { } found)
        {
            return PageHost.Refused(context, new Refusal(RefusalCode.EntryUnknown, $"No line {entry} waits or was decided on.", "entry"));
        }

        var (command, refusal) = Command(found, given, context.User.Name());
        if (command is not null)
        {
            Instant? at = store.Settings.SimulatedClock ? await store.Reader.NowAsync(stop) : null;
            var answers = await bus.InvokeAsync<Counter.CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(command, at)), stop);
            refusal = (answers.Results[0] as CommandResult.Refused)?.Refusal;
        }

        return refusal is null
            ? Results.Redirect(Route)
            : PageHost.Of<MoneyFilesPage>(context, await LookAsync(context, store, stop) with { Refusal = refusal, Entry = entry }, Terminal.Problem.Status(refusal.Code));
    }

    private static (Command? Command, Refusal? Refusal) Command(RecordedEntry entry, Dictionary<string, string> given, string by)
    {
        var (contract, reason) = (Filled("contract"), Filled("reason"));
        if (given.GetValueOrDefault("what") == "aside") { return SettleLine.Read(SettleLine.Aside(entry.Line.Entry), by, reason); }
        var shares = Enumerable.Range(1, 3).Select(row => (Contract: Filled($"contract{row}"), Amount: Filled($"amount{row}"))).Where(one => one.Contract is not null)
            .Select(one => $"{one.Contract}={one.Amount}").ToList();
        var (line, wrong) = SettleLine.Of(entry, shares.Count > 0 ? null : contract, shares, Filled("payment"), Filled("code"));
        return line is null ? (null, new Refusal(RefusalCode.FieldMissing, $"What the line is about is missing: {wrong}", "contract"))
            : SettleLine.Read(line, by, reason);

        string? Filled(string name) => given.GetValueOrDefault(name) is { Length: > 0 } value ? value : null;
    }

    private static async Task<IResult> ReadAsync(HttpContext context, ContractsStore store, IFormCollection form, CancellationToken stop)
    {
        var (file, map) = (form.Files["file"], form.Files["mapping"]);
        Refusal? refusal = null;
        CsvMapping? mapping = null;
        if (file is null or { Length: 0 } || file.Length > LargestFile)
        {
            refusal = new Refusal(RefusalCode.FieldMissing, $"Choose a file of at most {LargestFile / (1 << 20)} MB; a larger one is read at a terminal.", "file");
        }
        else if (map is { Length: > 0 })
        {
            (mapping, refusal) = CsvMapping.Read(await BytesAsync(map, stop));
        }

        if (refusal is null)
        {
            var outcome = await MoneyFileEndpoints.TakeAsync(store, Path.GetFileName(file!.FileName), await BytesAsync(file, stop), mapping, context.User.Name(), stop);
            if (outcome.Refusal is null) { return PageHost.Of<MoneyFilesPage>(context, await LookAsync(context, store, stop) with { Outcome = outcome }); }
            refusal = outcome.Refusal;
        }

        return PageHost.Of<MoneyFilesPage>(context, await LookAsync(context, store, stop) with { Refusal = refusal }, Terminal.Problem.Status(refusal.Code));
    }

    private static async Task<byte[]> BytesAsync(IFormFile file, CancellationToken stop)
    {
        using var memory = new MemoryStream();
        await file.CopyToAsync(memory, stop);
        return memory.ToArray();
    }

    private static async Task<MoneyFilesModel> LookAsync(HttpContext context, ContractsStore store, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop);
        var waited = await store.Bank.WaitedAsync(now, stop);
        return new MoneyFilesModel(
            [.. (await store.Bank.FilesAsync(now, stop)).Reverse().Take(Shown)], [.. waited.Where(one => one.Waits).Take(Shown)],
            [.. waited.Where(one => !one.Waits).Reverse().Take(Shown)], Doors.MoneyFileRead.Roles.Contains(context.User.Role()));
    }
}
