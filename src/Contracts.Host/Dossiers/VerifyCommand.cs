using System.CommandLine;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Sealing;
using Contracts.Host.Terminal;
using Contracts.Store.Dossiers;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Dossiers;

/// <summary>`contracts verify`: checks a dossier with its bytes and a public key; no database is opened and none is started.</summary>
public static class VerifyCommand
{
    /// <summary>Something was altered, left out or added, or it cannot be told; the answer says which.</summary>
    private const int NotOk = 1;

    public static Command Build()
    {
        var file = new Argument<FileInfo>("file") { Description = "A dossier." };
        var policy = new Option<FileInfo?>("--policy") { Description = "The log's public key as you know it (C2SP tlog-policy); else the one in the dossier, which proves less." };
        var earlier = new Option<FileInfo?>("--earlier") { Description = "A signed head of the log that you kept; the dossier's may not be behind it." };
        var root = new Option<FileInfo?>("--tsa-root") { Description = "The root certificate of a time stamping authority as you know it, PEM; time stamps are held against it." };
        var command = new Command(
            "verify", "Check a dossier: exit 0 when everything holds, 1 when something was altered or it cannot be told. Needs no database.") { file, policy, earlier, root };
        command.SetAction(async (parse, stop) =>
        {
            var source = parse.GetRequiredValue(file);
            var given = new[] { source, parse.GetValue(policy), parse.GetValue(earlier) };
            if (given.FirstOrDefault(one => one is { Exists: false }) is { } missing) { throw new UsageException($"There is no file {missing.Name}."); }
            var verdict = DossierVerifier.Verify(
                await BytesAsync(source, stop).ConfigureAwait(false),
                given[1] is { } keys ? await BytesAsync(keys, stop).ConfigureAwait(false) : null,
                given[2] is { } head ? await BytesAsync(head, stop).ConfigureAwait(false) : null,
                TsaRoots.Find(parse.GetValue(root)));
            Print(verdict, CommonOptions.ParseFormat(parse.GetValue(CommonOptions.Format)) ?? OutputFormat.Json);
            return verdict.Standing == DossierStanding.Holds ? ExitCodes.Done : NotOk;
        });
        return command;
    }

    /// <summary>A file that is too large is read only so far that it is seen to be.</summary>
    private static async Task<byte[]> BytesAsync(FileInfo file, CancellationToken stop)
    {
        const int most = (64 * 1024 * 1024) + 1;
        await using var stream = file.OpenRead();
        var bytes = new byte[Math.Min(file.Length, most)];
        var length = await stream.ReadAtLeastAsync(bytes, bytes.Length, throwOnEndOfStream: false, stop).ConfigureAwait(false);
        return bytes[..length];
    }

    private static void Print(DossierVerdict verdict, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, verdict)));
            return;
        }

        Console.Out.WriteLine(verdict.Standing switch
        {
            DossierStanding.Holds => "everything holds",
            DossierStanding.Altered => $"ALTERED {verdict.Fault!.Code}: {verdict.Fault.Detail}",
            _ => $"CANNOT TELL {verdict.Fault!.Code}: {verdict.Fault.Detail}",
        });
        foreach (var line in verdict.Proved) { Console.Out.WriteLine($"  proved: {line}"); }
        foreach (var line in verdict.NotProved) { Console.Out.WriteLine($"  not proved: {line}"); }
    }

    private static void Write(Utf8JsonWriter json, DossierVerdict verdict)
    {
        json.WriteStartObject();
        json.WriteBoolean("ok", verdict.Standing == DossierStanding.Holds);
        json.WriteString("standing", verdict.Standing switch { DossierStanding.Holds => "holds", DossierStanding.Altered => "altered", _ => "cannot-tell" });
        json.WriteStartArray("faults");
        if (verdict.Fault is { } fault)
        {
            json.WriteStartObject();
            json.WriteString("code", fault.Code);
            json.WriteString("detail", fault.Detail);
            json.WriteEndObject();
        }

        json.WriteEndArray();

        foreach (var (name, lines) in new[] { ("proved", verdict.Proved), ("notProved", verdict.NotProved) })
        {
            json.WriteStartArray(name);
            foreach (var line in lines) { json.WriteStringValue(line); }
            json.WriteEndArray();
        }

        json.WriteEndObject();
    }
}
