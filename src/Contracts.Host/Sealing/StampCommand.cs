using System.CommandLine;
using System.Text;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Seals;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Sealing;

/// <summary>`contracts stamp`: time stamps of signed heads by an authority of one's choice (RFC 3161).</summary>
public static class StampCommand
{
    public static Command Build() => new(
        "stamp", "Time stamps by somebody else over a signed head of the log (RFC 3161): request, add, get, list. What one is worth where you are is for counsel to say.")
    {
        Request(), Add(), Get(), List(),
    };

    private static Option<long?> Size() => new("--size") { Description = "Which signed head; the newest when left out." };

    private static Option<string?> Month() => new("--month") { Description = "The head of a closed month, such as 2026-09, in place of --size." };

    private static Option<FileInfo?> Root() => new("--tsa-root")
    {
        Description = $"The authority's root certificate as you know it, PEM; else the file that {TsaRoots.Variable} names.",
    };

    private static Command Request()
    {
        var (size, month) = (Size(), Month());
        var output = new Option<string>("--out") { Description = "The request to write, to be carried to an authority.", Required = true };
        var command = new Command("request", "Write the request for a time stamp, where this machine has no way to the authority.") { size, month, output };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await HeadAsync(session, parse.GetValue(size), parse.GetValue(month), stop).ConfigureAwait(false) is not { } head) { return ExitCodes.Refused; }
                await File.WriteAllBytesAsync(parse.GetRequiredValue(output), TsaClient.Ask(head).Encode(), stop).ConfigureAwait(false);
                await Console.Error.WriteLineAsync($"asks for a stamp of the head of {head.Size} leaves").ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Add()
    {
        var (size, month, root) = (Size(), Month(), Root());
        var file = new Argument<FileInfo>("file") { Description = "The authority's answer." };
        var command = new Command("add", "Keep a time stamp that was fetched elsewhere, if it holds.") { file, size, month, root };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var roots = TsaRoots.Require(parse.GetValue(root));
                var source = parse.GetRequiredValue(file);
                if (!source.Exists) { throw new UsageException($"There is no file {source.Name}."); }
                if (await HeadAsync(session, parse.GetValue(size), parse.GetValue(month), stop).ConfigureAwait(false) is not { } head) { return ExitCodes.Refused; }
                var bytes = source.Length > TimeStampCheck.Largest
                    ? new byte[TimeStampCheck.Largest + 1]
                    : await File.ReadAllBytesAsync(source.FullName, stop).ConfigureAwait(false);
                return await KeepAsync(session, head, bytes, roots, stop).ConfigureAwait(false);
            },
            stop));
        return command;
    }

    private static Command Get()
    {
        var (size, month, root) = (Size(), Month(), Root());
        var url = new Argument<Uri>("url")
        {
            Description = "The authority, such as https://tsa.example/.",
            CustomParser = result => Uri.TryCreate(result.Tokens[0].Value, UriKind.Absolute, out var read) && read.Scheme is "http" or "https"
                ? read : throw new UsageException("The authority is an http or https address."),
        };
        var command = new Command("get", "Ask an authority for a time stamp and keep it, if it holds. Only a digest leaves this machine.") { url, size, month, root };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var roots = TsaRoots.Require(parse.GetValue(root));
                if (await HeadAsync(session, parse.GetValue(size), parse.GetValue(month), stop).ConfigureAwait(false) is not { } head) { return ExitCodes.Refused; }
                var answer = await TsaClient.SendAsync(parse.GetRequiredValue(url), TsaClient.Ask(head), stop).ConfigureAwait(false);
                return await KeepAsync(session, head, answer, roots, stop).ConfigureAwait(false);
            },
            stop));
        return command;
    }

    private static Command List()
    {
        var root = Root();
        var command = new Command("list", "The time stamps that are kept, each checked anew.") { root };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var roots = TsaRoots.Find(parse.GetValue(root));
                var good = true;
                foreach (var kept in await session.Store.Stamps.ListAsync(stop: stop).ConfigureAwait(false))
                {
                    var head = await session.Store.Seals.CheckpointAsync(kept.Size, stop).ConfigureAwait(false);
                    var (stamp, fault) = TimeStampCheck.Verify(kept.Token, Encoding.UTF8.GetBytes(head?.Note ?? ""), roots);
                    StampPrinter.Print(kept.Size, stamp, fault, session.Format);
                    good &= fault is null;
                }

                return good ? ExitCodes.Done : ExitCodes.Failed;
            },
            stop));
        return command;
    }

    private static async Task<int> KeepAsync(
        Session session, StoredCheckpoint head, byte[] answer, System.Security.Cryptography.X509Certificates.X509Certificate2Collection roots, CancellationToken stop)
    {
        var (token, unread) = TimeStampCheck.TokenOf(answer);
        var (stamp, fault) = token is null ? (null, unread) : await session.Store.Stamps.AddAsync(head, token, roots, stop).ConfigureAwait(false);
        if (fault is not null) { throw new StoreException($"The time stamp is not kept: {fault.Code}: {fault.Detail}"); }
        StampPrinter.Print(head.Size, stamp, null, session.Format);
        return ExitCodes.Done;
    }

    /// <summary>The signed head that was asked for; null where there is none, and that is told.</summary>
    private static async Task<StoredCheckpoint?> HeadAsync(Session session, long? size, string? month, CancellationToken stop)
    {
        var seals = session.Store.Seals;
        if (month is not null && await seals.AnchorOfMonthAsync(month, stop).ConfigureAwait(false) is { } anchor)
        {
            return await seals.CheckpointFromAsync(anchor.Index + 1, stop).ConfigureAwait(false);
        }

        var head = month is not null ? null
            : size is { } wanted ? await seals.CheckpointAsync(wanted, stop).ConfigureAwait(false)
            : await seals.LatestAsync(stop).ConfigureAwait(false);
        if (head is null)
        {
            session.Refuse(new Refusal(RefusalCode.CheckpointUnknown, "No head of the log was signed at that size, or for that month.", month is null ? "size" : "month"));
        }

        return head;
    }
}
