using System.ComponentModel;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Books.Packet;
using Contracts.Host.MonthEnd;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Contracts.Store.Books;
using NodaTime.Text;

namespace Contracts.Host.Serving.Api;

/// <summary>The books, the closed months, and the head of the log.</summary>
internal static class BookEndpoints
{
    private static readonly Refusal Unreadable = new(RefusalCode.DateInvalid, "A month is written like 2026-09.", "month");

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.Books, BooksAsync);
        routes.MapDoor(Doors.Journal, JournalAsync).WithRequestTimeout(ApiHost.Many);
        routes.MapDoor(Doors.Packet, PacketAsync).WithRequestTimeout(ApiHost.Many);
        routes.MapDoor(Doors.Ready, ReadyAsync).WithRequestTimeout(ApiHost.Many);
        routes.MapDoor(Doors.Checkpoint, CheckpointAsync);
    }

    private static async Task<IResult> BooksAsync(
        ContractsStore store, [Description("The last day that counts, such as 2026-12-31; today when left out.")] string? through,
        [Description(Words.KnownMoment)] string? known, [Description("booked, or effective to go by the day each fact was about.")] string? by,
        [Description("The books of one shop; of all when left out.")] string? shop, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, through, known, stop, "through");
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (question.Known.Size is not null) { return Answers.Refused(new Refusal(RefusalCode.DateInvalid, "The books are known at an instant or a day.", "known")); }
        if (by is not (null or "" or "booked" or "effective")) { return Answers.Refused(new Refusal(RefusalCode.FieldInvalid, "'by' is booked or effective.", "by")); }
        var day = by == "effective" ? BookDay.Effective : BookDay.Booked;
        var balance = await BooksCommand.BalanceAsync(
            store, Chart.Standard, question.On, question.Known.At, day, string.IsNullOrEmpty(shop) ? null : shop, stop);
        return Answers.Json(BooksPrinter.Json(balance, question.On, question.Known.At));
    }

    /// <summary>The journal, written whole before any of it is sent: one that breaks off would balance and be wrong.</summary>
    private static async Task<IResult> JournalAsync(
        ContractsStore store, [Description(Words.KnownMoment)] string? known, [Description("ledger, which hledger reads too, or beancount.")] string? form, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, null, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (question.Known.Size is not null) { return Answers.Refused(new Refusal(RefusalCode.DateInvalid, "The books are known at an instant or a day.", "known")); }
        if (form is not (null or "" or "ledger" or "hledger" or "beancount"))
        {
            return Answers.Refused(new Refusal(RefusalCode.FieldInvalid, "'form' is ledger or beancount.", "form"));
        }

        var file = new FileStream(
            Path.Combine(Path.GetTempPath(), $"contracts-journal-{Guid.NewGuid():N}"), FileMode.CreateNew, FileAccess.ReadWrite, FileShare.None, 1 << 16,
            FileOptions.DeleteOnClose | FileOptions.Asynchronous);
        await using (var text = new StreamWriter(file, leaveOpen: true))
        {
            await JournalFile.WriteAsync(text, store.Books.SetsAsync(question.Known.At, null, stop), Chart.Standard, form == "beancount", everyDay: false);
        }

        file.Position = 0;
        return Results.Stream(file, "text/plain");
    }

    private static async Task<IResult> PacketAsync(
        ContractsStore store, [Description("A closed month, such as 2026-09.")] string month, CancellationToken stop)
    {
        if (Read(month) is not { } wanted) { return Answers.Refused(Unreadable); }
        var (packet, isSame) = await store.MonthClose.MakeAgainAsync(wanted, stop);
        if (packet is null) { return Answers.Refused(new Refusal(RefusalCode.MonthNotClosed, $"{month} has not been closed.", "month")); }
        return isSame ? Results.Bytes(PacketJson.Bytes(packet), "application/json") : ApiProblems.PacketDiffers.Result();
    }

    private static async Task<IResult> ReadyAsync(ContractsStore store, [Description("The next month to close, such as 2026-09.")] string month, CancellationToken stop)
    {
        if (Read(month) is not { } wanted) { return Answers.Refused(Unreadable); }
        var (packet, obstacle) = await ReadyCommand.LookAsync(store, wanted, stop);
        return packet is null ? Answers.Refused(obstacle!) : Answers.Json(ReadyCommand.Json(packet));
    }

    private static NodaTime.YearMonth? Read(string month) =>
        month.Length == 7 && YearMonthPattern.Iso.Parse(month) is { Success: true, Value: { Year: >= 1900 and <= 2200 } wanted } ? wanted : null;

    private static async Task<IResult> CheckpointAsync(HttpContext context, ContractsStore store, CancellationToken stop)
    {
        if (await store.Seals.LatestAsync(stop) is not { } head) { return ApiProblems.NothingSigned.Result(); }
        // The note is what one publishes: signed text, as it is.
        if (context.Request.GetTypedHeaders().Accept.Any(one => one.MediaType == "text/plain")) { return Results.Text(head.Note, "text/plain"); }
        return Answers.Json(AccountPrinter.Json(json =>
        {
            json.WriteStartObject();
            json.WriteNumber("size", head.Size);
            json.WriteString("root", head.Root.ToString());
            json.WriteString("note", head.Note);
            json.WriteEndObject();
        }));
    }
}
