using System.Security.Cryptography;
using System.Text;

namespace Contracts.Store.Vault;

/// <summary>
/// A key for each household, in a folder outside the database: one file each, for its owner's eyes only. Destroying the file makes
/// every copy of the household's sealed facts unreadable, those in backups of the database too. Backups of this folder must be short-lived.
/// </summary>
public sealed class HouseholdKeys
{
    private const int Length = 32;
    private const UnixFileMode OwnerOnly = UnixFileMode.UserRead | UnixFileMode.UserWrite;

    private readonly string folder;

    /// <param name="folder">The folder; made where it is missing.</param>
    public HouseholdKeys(string folder) => this.folder = folder;

    /// <summary>The household's key, or null where there is none, or none any more.</summary>
    public byte[]? Find(string household) => Read(FileOf(household), $"household {household}");

    /// <summary>The household's key, made where there is none.</summary>
    public byte[] FindOrMake(string household) => FindOrMake(FileOf(household), $"household {household}");

    /// <summary>The key that tells in which drawer a telephone number lies, made where there is none. It opens nothing.</summary>
    public byte[] FindOrMakeForTelephones() => FindOrMake(Path.Combine(folder, "telephones.key"), "the telephone numbers");

    private byte[]? Read(string file, string whose)
    {
        if (!File.Exists(file)) { return null; }
        var key = File.ReadAllBytes(file);
        return key.Length == Length ? key : throw new StoreException($"The key of {whose} in {folder} is damaged.");
    }

    private byte[] FindOrMake(string file, string whose)
    {
        if (Read(file, whose) is { } found) { return found; }
        MakeFolder();
        var key = RandomNumberGenerator.GetBytes(Length);
        var draft = $"{file}.{Guid.NewGuid():N}";
        using (var stream = new FileStream(draft, OptionsForNew()))
        {
            stream.Write(key);
            stream.Flush(flushToDisk: true);
        }

        try
        {
            File.Move(draft, file, overwrite: false);
            return key;
        }
        catch (IOException) when (File.Exists(file))
        {
            // Somebody else was first.
            File.Delete(draft);
            return Read(file, whose)!;
        }
    }

    /// <summary>Destroys a household's key; answers whether there was one.</summary>
    public bool Destroy(string household)
    {
        var file = FileOf(household);
        if (!File.Exists(file)) { return false; }
        // Written over first: on most disks of today that is a courtesy, and the folder should be on an encrypted one.
        using (var stream = new FileStream(file, FileMode.Open, FileAccess.Write))
        {
            stream.Write(new byte[Length]);
            stream.Flush(flushToDisk: true);
        }

        File.Delete(file);
        return true;
    }

    private string FileOf(string household) =>
        Path.Combine(folder, $"{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(household)))}.key");

    private void MakeFolder()
    {
        if (OperatingSystem.IsWindows()) { Directory.CreateDirectory(folder); }
        else { Directory.CreateDirectory(folder, OwnerOnly | UnixFileMode.UserExecute); }
    }

    private static FileStreamOptions OptionsForNew()
    {
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows()) { options.UnixCreateMode = OwnerOnly; }
        return options;
    }
}
